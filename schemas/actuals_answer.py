"""What the members of answers about finished jobs mean."""

from __future__ import annotations

from planning.learning.model import Reason
from schemas.actuals import RESULTS
from schemas.answers import Answer, many, moment, number, one, text, truth

STATES = {
    "counted": "Counted: it stands behind the estimate.",
    "set_aside": "Kept, and nothing is learned from it; `reason` says why.",
    "while_frozen": "Kept; it counts once the estimate is no longer frozen.",
    "before_reset": "Kept; the estimate was begun anew since.",
    "replaced": "Kept; a later report on the same stage stands in its place.",
}

TOLD = {
    Reason.NO_TIME: "No time passed: the minutes are zero or less.",
    Reason.ENDS_BEFORE_START: "It ends before it starts.",
    Reason.ACROSS_A_NIGHT: "It lasts for more than six hours and over midnight: a clock was left running.",
    Reason.NO_PREDICTION: "The catalogue expects no work at this stage, so there is nothing to compare with.",
    Reason.ANOTHER_UNIT: (
        "It is more than twenty times, or less than a twentieth of, what the catalogue predicts: minutes for"
        " hours, or a clock left running."
    ),
    Reason.FAR_OFF: (
        "It lies too far from the other reports of the shop. It will count once more reports bear it out."
    ),
}


class CheckReported(Answer):
    result = text("What the check found.", enum=[*RESULTS])
    note = text("The remark on it.", null=True)


class ActualKept(Answer):
    stage = text("The stage.")
    work_min = number("Hands-on time in minutes, as it was given or from start to end.")
    started_at = moment("The start that was given.", null=True)
    ended_at = moment("The end that was given.", null=True)
    catalogue_min = number("The median that the catalogue predicted for this job, in minutes.")
    check = one(CheckReported, "What the check found; null: nothing was said.", null=True)
    remark = text("The remark.", null=True)
    reported_at = moment("When it was reported first.")
    state = text(" ".join(f"`{state}`: {says}" for state, says in STATES.items()), enum=[*STATES])
    reason = text(
        "Why nothing is learned from it; null where it is no matter of that.",
        null=True,
        enum=[*(reason.value for reason in Reason), None],
    )
    told = text("State and reason in words.")


class ActualJustReported(ActualKept):
    repeated = truth("Whether the very same was reported before, so that nothing has changed.")


class ActualsAnswer(Answer):
    procedure = text("The id of the procedure.")
    items = many(ActualKept, "Reports on it, in the order they came.")


class ActualsTaken(Answer):
    procedure = text("The id of the procedure.")
    items = many(ActualJustReported, "What has become of each report, in the order they were sent.")
