"""When a delivery is tried again: laws that hold for every course of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.events.schedule import DELAYS, JITTER, LONGEST_HOLD, delay_after, hold_until

NOW = datetime(2027, 3, 2, 8, 15, tzinfo=UTC)
LEAST, MOST = timedelta(days=3), timedelta(days=4)

chances = st.floats(0, 1)
courses = st.lists(chances, min_size=len(DELAYS), max_size=len(DELAYS))


def delays(course: list[float]) -> list[timedelta]:
    found = [delay_after(number, chance) for number, chance in enumerate(course, 1)]
    return [each for each in found if each is not None]


@given(courses)
def test_it_goes_on_for_three_days_and_ends(course: list[float]) -> None:
    made = delays(course)
    assert len(made) == len(course)
    assert LEAST < sum(made, timedelta()) < MOST
    assert delay_after(len(course) + 1, 0.5) is None


@given(courses)
def test_no_wait_is_shorter_than_the_one_before(course: list[float]) -> None:
    assert all(before <= after for before, after in pairwise(delays(course)))


@given(st.integers(1, len(DELAYS)), chances)
def test_jitter_only_adds_and_only_so_much(tries: int, chance: float) -> None:
    delay = delay_after(tries, chance)
    assert delay is not None
    assert DELAYS[tries - 1] <= delay <= DELAYS[tries - 1] * (1 + JITTER)


def test_what_failed_together_is_not_tried_together() -> None:
    assert delay_after(3, 0.0) != delay_after(3, 0.5) != delay_after(3, 1.0)


def test_the_published_schedule_is_the_example_of_the_specification() -> None:
    """Standard Webhooks 1.0.0, "Deliverability and reliability": ten attempts, the last after 75:35:05."""
    assert sum(DELAYS, timedelta()) == timedelta(hours=75, minutes=35, seconds=5)
    assert len(DELAYS) + 1 == 10


@pytest.mark.parametrize(
    ("header", "until"),
    [
        ("120", NOW + timedelta(seconds=120)),
        (" 7 ", NOW + timedelta(seconds=7)),
        (format_datetime(NOW + timedelta(minutes=3), usegmt=True), NOW + timedelta(minutes=3)),
        ("Tue, 02 Mar 2027 08:20:00 -0000", NOW + timedelta(minutes=5)),
        ("3601", NOW + LONGEST_HOLD),
        ("9" * 5000, NOW + LONGEST_HOLD),
        (format_datetime(NOW + timedelta(days=300), usegmt=True), NOW + LONGEST_HOLD),
        ("0", None),
        (format_datetime(NOW - timedelta(minutes=3), usegmt=True), None),
        (None, None),
        ("", None),
        ("-5", None),
        ("1.5", None),
        ("1_0", None),
        ("٣", None),
        ("soon", None),
        ("Tue, 99 Mar 2027 08:20:00 GMT", None),
        ("Fri, 31 Dec 9999 23:59:59 -2359", None),  # in UTC there is no such time
    ],
)
def test_quiet_is_kept_as_asked_within_bounds(header: str | None, until: datetime | None) -> None:
    assert hold_until(header, NOW) == until


@given(st.text())
def test_whatever_an_endpoint_asks_for_is_bounded(header: str) -> None:
    until = hold_until(header, NOW)
    assert until is None or NOW < until <= NOW + LONGEST_HOLD
