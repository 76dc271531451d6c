"""The stages of a procedure."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.model import PlannedStage
from planning.timing.model import StageWindow
from schemas.answers import (
    Answer,
    number,
    one,
    scalar,
    table,
    text,
    texts,
    whole,
)
from schemas.figures import plain_values, quantiles, tenth

Document = dict[str, Any]


class Minutes(Answer):
    p50 = number("Half of all jobs take at most this long, in minutes.")
    p80 = number("80 % of all jobs take at most this long, in minutes.")
    p95 = number("95 % of all jobs take at most this long, in minutes.")


class WindowGiven(Answer):
    after = text("The stage whose end the minutes count from.")
    not_before_min = number("The stage starts no sooner than this, in minutes.")
    not_after_min = number(
        "The stage starts no later than this, in minutes; null: any time later.", null=True
    )
    if_missed = text("The stage to go back to when the window is missed.", null=True)


class CheckGiven(Answer):
    method = text("How to tell that the stage succeeded.")
    accept = text("What is good enough.")
    otherwise = text("What to do when it is not.")


class StageGiven(Answer):
    position = whole("The place in the order of work, from 1.")
    stage = text("The stage's name in the catalogue.")
    title = text("The stage in a few words.")
    phase = text("The phase of the job it belongs to.")
    instructions = texts("What to do, step by step.")
    resource = text("Where it is done.")
    labour = text("The category of labour.")
    work_min = one(Minutes, "Hands-on time.")
    wait_min = number("Time after the work before a stage that depends on it may start, in minutes.")
    wait_note = text("When the wait was reckoned at the edge of what is known.", null=True)
    window = one(WindowGiven, "When the stage may start; null: at any time in its turn.", null=True)
    abrasive = text("The P-grade of the abrasive.", null=True)
    coats = whole("How many coats.", null=True)
    parameters = table(scalar("A value.", null=False), "All parameters of the stage.")
    materials = texts("Materials it uses, by name in `materials`.")
    check = one(CheckGiven, "How to tell that it succeeded.", null=True)
    cautions = texts("Cautions it carries, by name in `cautions`.")
    because = texts("The rules that asked for it.")


def stage_document(stage: PlannedStage) -> Document:
    return {
        "position": stage.position,
        "stage": stage.stage,
        "title": stage.title,
        "phase": stage.phase,
        "instructions": list(stage.instructions),
        "resource": stage.resource,
        "labour": stage.labour,
        "work_min": quantiles(stage.work_min),
        "wait_min": tenth(stage.wait_min),
        "wait_note": stage.wait_note,
        "window": window_document(stage.window) if stage.window else None,
        "abrasive": stage.abrasive,
        "coats": stage.coats,
        "parameters": plain_values(stage.parameters),
        "materials": list(stage.materials),
        "check": asdict(stage.check) if stage.check else None,
        "cautions": list(stage.cautions),
        "because": list(stage.because),
    }


def window_document(window: StageWindow) -> Document:
    latest = window.not_after_min
    return {
        "after": window.after,
        "not_before_min": tenth(window.not_before_min),
        "not_after_min": None if latest is None else tenth(latest),
        "if_missed": window.if_missed,
    }
