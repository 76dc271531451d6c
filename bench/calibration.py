"""Whether what is learned from reported jobs says as much as it knows, and no more, in invented shops."""

from __future__ import annotations

from math import expm1

from bench.printing import heading, table
from bench.shops import CATALOGUE_SPREAD, KINDS, STAGES, Kind, held

JOBS = (0, 1, 3, 10, 30, 100)
SHOPS = 100


def measure() -> None:
    """Prints the tables."""
    heading("Learning from actuals: calibration on fresh jobs")
    print(
        f"{SHOPS} invented shops of each kind, {STAGES} stages each; the catalogue says {CATALOGUE_SPREAD} of"
        " spread.\n"
        "inside: fresh jobs from P10 to P90 (ideal 80 %). under: those under P80 (ideal 80 %). width: of\n"
        "P10 to P90, as a multiple of the true one. off: mean distance of the median from the true one.\n"
    )
    for kind in KINDS:
        table((kind.about, "inside", "under", "width", "off"), [_row(kind, jobs) for jobs in JOBS])
        print()


def _row(kind: Kind, jobs: int) -> tuple[str, ...]:
    found = held(kind, jobs, SHOPS)
    about = f"  after {jobs} jobs a stage" if jobs else "  the catalogue alone"
    off = f"{100 * expm1(found.off):.0f} %"
    return (about, f"{100 * found.inside:.1f} %", f"{100 * found.under:.1f} %", f"{found.width:.2f}", off)
