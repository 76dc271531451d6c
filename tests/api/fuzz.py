"""`make fuzz`: many generated requests against the service, with counts; fails where one breaks the contract.

Usage: python tests/api/fuzz.py [EXAMPLES OF EACH OPERATION] [SEED]
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from generated_requests import explore, prove_once

from api.application import create_app
from api.settings import Settings

EXAMPLES = 300
SEQUENCES = 60
AT_LEAST = 10_000


def main(examples: int = EXAMPLES, seed: int | None = None) -> int:
    """The exit code: 0 where every answer kept the contract, and enough were asked for."""
    prove_once(setattr)
    with TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'store.sqlite3'}"
        # Many requests are made without a key, each to be told so.
        app = create_app(Settings(database_url=url, without_keys=False, key_failures=0))
        outcome = explore(app, examples, SEQUENCES, seed, say=lambda text: print(text, flush=True))
    print(outcome.report())
    enough = outcome.cases.total() >= AT_LEAST or examples < EXAMPLES
    return 0 if enough and not outcome.failures else 1


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:3])))
