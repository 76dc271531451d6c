"""Windows as sentences, by the clock and without one."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from schedule_examples import doors_of_day

from planning.timing.calendar import Calendar, Hours
from planning.timing.model import StageWindow
from planning.timing.sentences import in_words
from planning.timing.start import Start, start_of
from planning.timing.words import Clock

BACK = ", or go back to Apply promoter."
TITLES = {"promote": "Apply promoter", "prime": "Apply primer"}
AT = datetime.fromisoformat("2027-03-02T10:00:00-06:00")
CHICAGO = Calendar(
    "America/Chicago", (Hours(frozenset(range(7)), 450, 720), Hours(frozenset(range(7)), 750, 1020))
)


def window(not_before=10.0, not_after=30.0, missed="promote"):
    return StageWindow("promote", not_before, not_after, missed)


def sentence(given, end_min=12.0, start=None, work=(20.0, False)):
    return in_words(given, 1.0, TITLES, end_min, start or Start(), work).sentence


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (window(), "Start 10 min to 30 min after the end of Apply promoter" + BACK),
        (window(0.0), "Start within 30 min after the end of Apply promoter" + BACK),
        (window(missed=None), "Start 10 min to 30 min after the end of Apply promoter."),
        (window(missed="absent"), "Start 10 min to 30 min after the end of Apply promoter."),
        (window(not_after=None), "Start 10 min or more after the end of Apply promoter."),
        (
            window(not_after=1440.0),
            "Start 10 min to 24 h after the end of Apply promoter" + BACK,
        ),
    ],
)
def test_without_a_start_minutes_count_from_the_end_of_the_stage_before(given, told):
    assert sentence(given) == told


@pytest.mark.parametrize(
    ("given", "end_min", "told"),
    [
        (window(), 12.0, "Start between 10:22 and 10:42" + BACK),
        # What opens within a minute is told late, what closes within one early.
        (window(), 12.3, "Start between 10:23 and 10:42" + BACK),
        (window(0.0), 12.0, "Start by 10:42" + BACK),
        (window(not_after=None), 12.0, "Start at 10:22 or later."),
        (window(30.0, 30.0), 12.5, "Start at 10:42" + BACK),
        (
            window(10.0, 1440.0),
            12.0,
            "Start between 10:22 on Tue 2 Mar and 10:12 on Wed 3 Mar" + BACK,
        ),
        (window(), 1452.0, "Start between 10:22 and 10:42 on Wed 3 Mar" + BACK),
        (window(0.0), 1452.0, "Start by 10:42 on Wed 3 Mar" + BACK),
    ],
)
def test_with_a_start_the_clock_says_when_and_the_day_where_it_is_another(given, end_min, told):
    assert sentence(given, end_min, start_of(AT)) == told


def test_a_start_within_a_minute_does_not_shift_what_the_clock_says():
    start = start_of(AT.replace(second=40))
    # The window is open from 10:22:40 to 10:42:40.
    assert sentence(window(), 12.0, start) == "Start between 10:23 and 10:42" + BACK


def test_the_last_moment_is_that_at_which_the_work_is_still_done_before_the_door_closes():
    # The stage before ends at 11:26, the door closes at 12:00, and the work takes 20 minutes.
    found = sentence(window(), 86.0, start_of(AT, CHICAGO))
    assert found == "Start between 11:36 and 11:40" + BACK


def test_the_clock_of_the_calendar_is_told_where_the_start_has_another_offset():
    start = start_of(datetime.fromisoformat("2027-03-02T16:00:00+00:00"), CHICAGO)
    assert sentence(window(), 12.0, start) == "Start between 10:22 and 10:42" + BACK


def test_the_clock_is_put_forward_between_two_moments():
    clock = Clock(datetime.fromisoformat("2027-03-13T12:00:00-06:00"), ZoneInfo("America/Chicago"))
    assert clock.told(clock.at(24 * 60)) == "13:00 on Sun 14 Mar"


def test_a_calendar_without_a_start_is_refused():
    with pytest.raises(ValueError, match="needs the start of the job"):
        start_of(None, CHICAGO)


def test_an_opening_before_the_window_puts_off_what_is_told():
    start = Start(AT, Clock(AT), None, doors_of_day((0, 20), (50, 400)))
    assert sentence(window(10.0, 60.0), 5.0, start) == "Start between 10:50 and 11:05" + BACK
