"""The body of `POST /v1/procedures/{id}/actuals`: how long stages really took, and what checks found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log
from statistics import NormalDist
from typing import Any

from marshmallow import ValidationError, fields, validate, validates_schema

from planning.learning.model import Spell
from schemas.faults import Fault
from schemas.fields import Moment, Number, Section, Text, about, between, length, line
from schemas.refusing import Refusing

MOST_STAGES = 100
MOST_MINUTES = 1_000_000
LONGEST_NOTE = 500
RESULTS = ("passed", "failed")

Body = dict[str, Any]


class Entries(fields.List[Any]):
    """A JSON array with at least one element."""

    default_error_messages = {  # noqa: RUF012
        "required": "is missing",
        "null": "must not be null",
        "invalid": "must be a list",
    }


class CheckFound(Refusing):
    result = Text(
        required=True,
        validate=validate.OneOf(RESULTS, error="must be passed or failed"),
        metadata=about("What the check found."),
    )
    note = line(LONGEST_NOTE, allow_none=True, metadata=about("A remark on the check."))


class ActualReported(Refusing):
    stage = Text(
        required=True,
        validate=length(1, 60),
        metadata=about("The stage, as the procedure names it.", examples=["solvent-clean"]),
    )
    work_min = Number(
        allow_none=True,
        validate=between(-MOST_MINUTES, MOST_MINUTES),
        metadata=about(
            "Hands-on time in minutes. Zero and less are kept, and nothing is learned from them.",
            examples=[12.5],
        ),
    )
    started_at = Moment(
        allow_none=True,
        metadata=about(
            "In place of `work_min`, together with `ended_at`: when somebody began to work on it."
        ),
    )
    ended_at = Moment(allow_none=True, metadata=about("When the work on it, without waiting, was done."))
    check = Section(CheckFound, allow_none=True, metadata=about("What the check of the stage found."))
    remark = line(LONGEST_NOTE, allow_none=True, metadata=about("Anything else, for people."))

    @validates_schema
    def _minutes_or_times(self, data: Body, **options: Any) -> None:
        given = {name for name in ("work_min", "started_at", "ended_at") if data.get(name) is not None}
        if given not in ({"work_min"}, {"started_at", "ended_at"}):
            told = " and ".join(sorted(given)) or "neither"
            raise ValidationError(f"give either work_min, or both started_at and ended_at; given: {told}")


class ActualsRequest(Refusing):
    actuals = Entries(
        fields.Nested(ActualReported, error_messages={"type": "must be an object"}),
        required=True,
        validate=validate.Length(1, MOST_STAGES, error="must have {min} to {max} elements"),
        metadata=about("One element for each stage that is reported on."),
    )


def spell_of(entry: Body) -> Spell:
    """How long the stage took, of a loaded element."""
    return Spell(entry.get("work_min"), entry.get("started_at"), entry.get("ended_at"))


def faults_of_stages(body: Body, stages: Sequence[str]) -> list[Fault]:
    """What is wrong with the stages of a loaded body, on a procedure that has these."""
    named = [entry["stage"] for entry in body["actuals"]]
    faults = []
    for number, stage in enumerate(named):
        place = f"/actuals/{number}/stage"
        if stage not in stages:
            faults.append(Fault(place, "is no stage of this procedure", stage, tuple(stages)))
        elif stage in named[:number]:
            faults.append(Fault(place, "is reported on twice in one request", stage))
    return faults


def predicted(stage: Mapping[str, Any]) -> tuple[float, float]:
    """Median minutes and spread that the catalogue predicted, of a stage of a procedure's document.

    Documents from before anything was learned hold the catalogue's quantiles themselves.
    """
    if "catalogue" in stage:
        return stage["catalogue"]["median_min"], stage["catalogue"]["spread"]
    p50, p80 = stage["work_min"]["p50"], stage["work_min"]["p80"]
    return p50, log(p80 / p50) / NormalDist().inv_cdf(0.8) if p50 > 0 else 0.0


ACTUALS = {
    "minutes": {
        "summary": "Two stages in minutes, one with its check",
        "value": {
            "actuals": [
                {"stage": "solvent-clean", "work_min": 8},
                {
                    "stage": "water-sheet-test",
                    "work_min": 2.5,
                    "check": {"result": "passed"},
                    "remark": "with the new spray bottle",
                },
            ]
        },
    },
    "clocked": {
        "summary": "One stage by the clock",
        "value": {
            "actuals": [
                {
                    "stage": "solvent-clean",
                    "started_at": "2027-03-02T08:15:00-06:00",
                    "ended_at": "2027-03-02T08:24:00-06:00",
                }
            ]
        },
    },
}
