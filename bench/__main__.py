"""Runs the measurements named, or all of them, and prints what they find."""

from __future__ import annotations

import logging
import platform
import sys
from collections.abc import Callable

from bench import arithmetic, calibration, engines, identification, proof

SUBJECTS: dict[str, Callable[[], None]] = {
    "identification": identification.measure,
    "engines": engines.measure,
    "proof": proof.measure,
    "arithmetic": arithmetic.measure,
    "calibration": calibration.measure,
}


def main(named: list[str]) -> int:
    unknown = [name for name in named if name not in SUBJECTS]
    if unknown:
        print(f"no measurement '{unknown[0]}'; there are {', '.join(SUBJECTS)}", file=sys.stderr)
        return 2
    logging.basicConfig(level=logging.ERROR)
    print(
        f"Python {platform.python_version()} on {platform.machine()}; everything in one run, in one process"
    )
    for name in named or SUBJECTS:
        SUBJECTS[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
