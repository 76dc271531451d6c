"""What a timeline shows of a procedure's wire document: one row a stage."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.drawing.times import span


@dataclass(frozen=True)
class Window:
    """When a stage may start, in minutes from the start of the job.

    It is counted from `from_min`, the end of an earlier stage. `closes_min` None: no latest moment.
    """

    from_min: float
    opens_min: float
    closes_min: float | None
    words: str


@dataclass(frozen=True)
class Row:
    """One stage: its times are minutes from the start of the job; `put_off` tells why it begins late."""

    position: int
    title: str
    start_min: float
    work_end_min: float
    ready_min: float
    window: Window | None
    put_off: tuple[str, ...] = ()


def rows_of(document: Mapping[str, Any]) -> list[Row]:
    """The stages in order, with their earliest times."""
    timed_stages = {timed["stage"]: timed for timed in document["timeline"]["stages"]}
    put_off = document["timeline"].get("put_off", ())
    return [_row(stage, timed_stages, put_off) for stage in document["stages"]]


def _row(
    stage: Mapping[str, Any],
    timed_stages: Mapping[str, Mapping[str, Any]],
    put_off: Sequence[Mapping[str, Any]],
) -> Row:
    timed = timed_stages[stage["stage"]]
    return Row(
        position=stage["position"],
        title=stage["title"],
        start_min=timed["earliest_start_min"],
        work_end_min=timed["work_end_min"],
        ready_min=timed["ready_min"],
        window=_window(stage["window"], timed_stages),
        put_off=tuple(each["told"] for each in put_off if each["stage"] == stage["stage"]),
    )


def _window(window: Mapping[str, Any] | None, timed_stages: Mapping[str, Mapping[str, Any]]) -> Window | None:
    if window is None:
        return None
    earlier = timed_stages[window["after"]]
    from_min = earlier["work_end_min"]
    opens, closes = window["not_before_min"], window["not_after_min"]
    return Window(
        from_min=from_min,
        opens_min=from_min + opens,
        closes_min=None if closes is None else from_min + closes,
        words=f"{span(opens, closes)} after {earlier['position']}",
    )
