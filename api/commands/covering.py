"""What `stagewright rules test --coverage` tells."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from api.commands.places import shown
from rules.authoring.coverage import Point, coverage_of
from rules.authoring.exercised import Exercised
from rules.pack import Pack
from rules.wording import condition_in_words


def coverage_lines(folder: Path, pack: Pack, cases: Sequence[Exercised]) -> Iterator[str]:
    """The percentage, and every point that no case shows."""
    coverage = coverage_of(pack, cases)
    seen, total = len(coverage.seen), len(coverage.seen) + len(coverage.unseen)
    yield f"{seen} of {total} points of coverage are seen ({coverage.percentage:.1f} %)"
    if coverage.unseen:
        yield "no case shows"
    yield from (f"  {shown(folder, point.place)} {_told(point)}" for point in coverage.unseen)


def _told(point: Point) -> str:
    if point.test is None:
        return f"{point.rule}: that it fires"
    truth = "true" if point.truth else "false"
    return f"{point.rule}: '{condition_in_words(point.test)}' being {truth} while all else lets the rule fire"
