"""The timeline of a procedure and the sums over its stages."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.timing.model import TimedStage, Timeline, Totals
from schemas.answers import (
    Answer,
    many,
    moment,
    number,
    one,
    table,
    text,
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


class TimelineGiven(Answer):
    start_at = moment("The start that was given.", null=True)
    finish_at = moment("The finish, when a start was given.", null=True)
    elapsed_min = number("Start to finish at median durations, in minutes.")
    stages = many(TimedStageGiven, "The earliest schedule.")


class TotalsGiven(Answer):
    labour_hours = table(number("Hours."), "Hours by labour category, in tenths.")
    elapsed_min = one(Minutes, "From start to finish.")
    work_min = one(Minutes, "All hands-on time.")


def timeline_document(timeline: Timeline) -> Document:
    return {
        "start_at": moment_text(timeline.start_at),
        "finish_at": moment_text(timeline.finish_at),
        "elapsed_min": tenth(timeline.elapsed_min),
        "stages": [_timed(stage) for stage in timeline.stages],
    }


def _timed(stage: TimedStage) -> Document:
    return {name: tenth(value) if name.endswith("_min") else value for name, value in asdict(stage).items()}


def totals_document(totals: Totals) -> Document:
    return {
        "labour_hours": {category: tenth(hours) for category, hours in totals.labour_hours.items()},
        "elapsed_min": quantiles(totals.elapsed_min),
        "work_min": quantiles(totals.work_min),
    }
