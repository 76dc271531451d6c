"""The timeline of a procedure and the sums over its stages."""

from __future__ import annotations

from typing import Any

from planning.timing.model import FinishBy, PutOff, TimedStage, Timeline, Totals
from schemas.answers import (
    Answer,
    many,
    moment,
    number,
    one,
    table,
    text,
    texts,
    truth,
    whole,
)
from schemas.figures import moment as moment_text
from schemas.figures import quantiles, tenth
from schemas.procedure.stages import Minutes

Document = dict[str, Any]


class TimedStageGiven(Answer):
    position = whole("The place in the order of work, from 1.")
    stage = text("The stage's name.")
    earliest_start_min = number("The earliest start, in minutes from the start of the job.")
    latest_start_min = number("The latest start that keeps the finish of the job, in minutes.")
    slack_min = number("Latest less earliest start, in minutes.")
    work_end_min = number("When its work ends, started at the earliest, in minutes.")
    ready_min = number("When its wait is over, in minutes.")
    critical = truth("Whether a delay of this stage delays the job.")
    earliest_start_at = moment("The earliest start on the calendar, when a start was given.", null=True)
    latest_start_at = moment("The latest start likewise.", null=True)


class ClosedGiven(Answer):
    from_min = number("When the door closes, in minutes from the start of the job.")
    until_min = number("When it opens again.")


class PutOffGiven(Answer):
    stage = text("The stage's name.")
    from_min = number("When its turn comes, in minutes from the start of the job.")
    until_min = number("When it can be begun at the earliest.")
    window = text(
        "The stage that would else start too late after it; null: it is the stage itself that finds the door"
        " closed.",
        null=True,
    )
    closed_from_min = number(
        "When the door closes that is in the way; null: before the job, or it is a wait that is in the way.",
        null=True,
    )
    closed_until_min = number("When it opens again; null: it is a wait that is in the way.", null=True)
    told = text("What is put off until when, and why.")


class TimelineGiven(Answer):
    start_at = moment("The start that was given.", null=True)
    finish_at = moment("The finish at median durations, when a start was given.", null=True)
    time_zone = text("The time zone of the calendar that was given.", null=True)
    elapsed_min = number("Start to finish at median durations, with waits and closed doors, in minutes.")
    stages = many(TimedStageGiven, "The earliest schedule.")
    closed = many(ClosedGiven, "When the shop is closed between start and finish, by the calendar.")
    put_off = many(PutOffGiven, "Stages that are not begun when their turn comes.")
    held = texts(
        "Stages that are not begun before the place is made fit, see `place.holds`; their times, and those of"
        " all that follow, hold if it is by then."
    )


class FinishGiven(Answer):
    p50 = moment("Half of all jobs are finished by then.")
    p80 = moment("80 % of all jobs are finished by then.")
    p95 = moment("95 % of all jobs are finished by then.")


class TotalsGiven(Answer):
    labour_hours = table(number("Hours."), "Hours by labour category at median work, in tenths, rounded up.")
    work_at_median_min = number("The sum of the stages' median work, which is what `labour_hours` are of.")
    work_min = one(Minutes, "All hands-on time of a job, with what is done again where a window is missed.")
    elapsed_min = one(
        Minutes, "From start to finish, with waits and, where a calendar was given, with closed doors."
    )
    finish_at = one(
        FinishGiven, "When jobs are finished that begin at the start that was given; null without.", null=True
    )
    all_windows_kept_probability = number("The part of jobs that miss no window, from 0 to 1.")


def timeline_document(timeline: Timeline) -> Document:
    return {
        "start_at": moment_text(timeline.start_at),
        "finish_at": moment_text(timeline.finish_at),
        "time_zone": timeline.zone.key if timeline.zone else None,
        "elapsed_min": tenth(timeline.elapsed_min),
        "stages": [_timed(stage, timeline) for stage in timeline.stages],
        "closed": [{"from_min": tenth(start), "until_min": tenth(end)} for start, end in timeline.closed],
        "put_off": [_put_off(stage) for stage in timeline.put_off],
        "held": list(timeline.held),
    }


def _timed(stage: TimedStage, timeline: Timeline) -> Document:
    timed = {
        name: tenth(value) if name.endswith("_min") else value for name, value in stage._asdict().items()
    }
    earliest, latest = timeline.moment(stage.earliest_start_min), timeline.moment(stage.latest_start_min)
    return {**timed, "earliest_start_at": moment_text(earliest), "latest_start_at": moment_text(latest)}


def _put_off(stage: PutOff) -> Document:
    closed_from, closed_until = stage.closed_from_min, stage.closed_until_min
    return {
        "stage": stage.stage,
        "from_min": tenth(stage.from_min),
        "until_min": tenth(stage.until_min),
        "window": stage.window,
        "closed_from_min": None if closed_from is None else tenth(closed_from),
        "closed_until_min": None if closed_until is None else tenth(closed_until),
        "told": stage.told,
    }


def totals_document(totals: Totals) -> Document:
    return {
        "labour_hours": {category: tenth(hours) for category, hours in totals.labour_hours.items()},
        "work_at_median_min": tenth(totals.work_at_median_min),
        "work_min": quantiles(totals.work_min),
        "elapsed_min": quantiles(totals.elapsed_min),
        "finish_at": _finish(totals.finish_at) if totals.finish_at else None,
        "all_windows_kept_probability": round(totals.all_windows_kept_probability, 3),
    }


def _finish(finish: FinishBy) -> Document:
    return {"p50": moment_text(finish.p50), "p80": moment_text(finish.p80), "p95": moment_text(finish.p95)}
