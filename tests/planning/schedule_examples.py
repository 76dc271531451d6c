"""Small jobs and shops, drawn at random, for the tests of schedules."""

from __future__ import annotations

from hypothesis import strategies as st

from planning.timing.course import Course, course_of
from planning.timing.doors import Doors, doors_from
from planning.timing.windows import Lag

MINUTES = st.integers(0, 60)


@st.composite
def jobs(draw: st.DrawFn, size: int = 6) -> tuple[list[str], dict[str, float], dict[str, float], list[Lag]]:
    """Order, works, waits and lags in whole minutes; windows may be impossible to keep."""
    order = [f"s{number}" for number in range(draw(st.integers(1, size)))]
    work = {stage: float(draw(MINUTES)) for stage in order}
    wait = {stage: float(draw(MINUTES)) for stage in order}
    pairs = [(one, other) for at, one in enumerate(order) for other in order[at + 1 :]]
    lags = []
    for earlier, later in draw(st.lists(st.sampled_from(pairs), max_size=5)) if pairs else ():
        least = draw(MINUTES)
        most = draw(st.none() | st.integers(least, 90))
        lags.append(Lag(earlier, later, float(least), most))
    return order, work, wait, lags


@st.composite
def courses(draw: st.DrawFn, size: int = 6) -> Course:
    order, work, wait, lags = draw(jobs(size))
    return course_of(order, work, wait, lags, draw(st.sets(st.sampled_from(order))))


@st.composite
def shops(draw: st.DrawFn, days: int = 12) -> Doors:
    """A shop that is open every day in one or two spans, each the same every day, in whole minutes."""
    opens = draw(st.integers(0, 600))
    spans = [(opens, opens + draw(st.integers(30, 300)))]
    if draw(st.booleans()):
        back = spans[0][1] + draw(st.integers(1, 90))
        spans.append((back, back + draw(st.integers(30, 300))))
    late = draw(st.integers(0, 1440))
    all_spans = [
        (opened + day * 1440 - late, closed + day * 1440 - late)
        for day in range(days)
        for opened, closed in spans
    ]
    breaks = [number % len(spans) != len(spans) - 1 for number in range(len(all_spans) - 1)]
    coming = [number for number, (_, closed) in enumerate(all_spans) if closed > 0]
    first = coming[0]
    return doors_from(
        [(float(opened), float(closed)) for opened, closed in all_spans[first:]],
        breaks[first:],
        float(days * 1440),
    )


def doors_of_day(*spans: tuple[float, float], days: int = 20) -> Doors:
    """A shop that is open in these spans of every day, in minutes from the start of the job."""
    all_spans = [(opens + day * 1440, closes + day * 1440) for day in range(days) for opens, closes in spans]
    breaks = [(number + 1) % len(spans) != 0 for number in range(len(all_spans) - 1)]
    return doors_from(all_spans, breaks, days * 1440.0)
