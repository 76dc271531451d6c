"""Windows as sentences that a technician can follow."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from math import inf

from planning.timing.doors import Doors
from planning.timing.model import StageWindow
from planning.timing.start import Start
from planning.timing.words import Clock, span

Work = tuple[float, bool]
"""Minutes of work, and whether it may pause."""


def in_words(
    window: StageWindow,
    kept_probability: float,
    titles: Mapping[str, str],
    end_min: float,
    start: Start,
    work: Work,
) -> StageWindow:
    """The window with its sentence, for a stage with this work after one that ends at `end_min`.

    By the clock where there is one, at the earliest schedule; else by minutes after the end of the stage
    before. By the clock the stage is only begun where its work finds the door open.
    """
    if start.clock is None:
        when = span(window.not_before_min, window.not_after_min)
        told = f"Start {when} after the end of {titles[window.after]}"
    else:
        told = _by_the_clock(window, end_min, start.clock, start.doors, work)
    missed = window.if_missed and titles.get(window.if_missed)
    back = f", or go back to {missed}" if missed and window.not_after_min is not None else ""
    return StageWindow(
        window.after,
        window.not_before_min,
        window.not_after_min,
        window.if_missed,
        window.note,
        kept_probability,
        f"{told}{back}.",
    )


def _by_the_clock(window: StageWindow, end_min: float, clock: Clock, doors: Doors | None, work: Work) -> str:
    if window.not_after_min is None:
        return f"Start at {clock.told(_opens(window, end_min, clock, doors, work))} or later"
    closes_min = end_min + window.not_after_min
    if doors is not None:
        closes_min = doors.last_start(closes_min, inf, *work)
    closes = clock.until(closes_min)
    if window.not_before_min == 0:
        return f"Start by {clock.told(closes)}"
    opens = _opens(window, end_min, clock, doors, work)
    if opens >= closes:
        return f"Start at {clock.told(closes)}"
    return f"Start between {clock.told_span(opens, closes, ' and ')}"


def _opens(window: StageWindow, end_min: float, clock: Clock, doors: Doors | None, work: Work) -> datetime:
    opens_min = end_min + window.not_before_min
    if doors is not None:
        opens_min, _ = doors.fit(opens_min, *work)
    return clock.from_(opens_min)
