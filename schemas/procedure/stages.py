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


class CatalogueWork(Answer):
    median_min = number("What half of all jobs stay under, in minutes.")
    spread = number("The standard deviation of the logarithm of the work.")


class WindowGiven(Answer):
    after = text("The stage whose end the minutes count from.")
    not_before_min = number("The stage starts no sooner than this, in minutes.")
    not_after_min = number(
        "The stage starts no later than this, in minutes; null: any time later.", null=True
    )
    if_missed = text("The stage to go back to when the window is missed.", null=True)
    kept_probability = number(
        "The part of jobs in which the works between leave room to keep the window, from 0 to 1."
    )
    sentence = text("The window as the technician follows it, by the clock where the start was given.")
    note = text("When a bound was taken outside the temperatures at which it is known.", null=True)


class BakeGiven(Answer):
    temperature_c = number("The temperature of the surface, in °C.")
    heat_up_min = number("From the temperature of the air to that of the bake, in minutes.")
    hold_min = number("At the temperature of the bake, in minutes.")
    cool_down_min = number("Until the part may be handled, in minutes; 0 where a later stage sees to it.")


class PotLifeGiven(Answer):
    material = text("The mixed material, by name in `materials`.")
    life_min = number("How long one mix can be used at the temperature of the place, in minutes.")
    use_min = number("What using one mix up takes on a slow day (95 % of jobs), in minutes.")
    batch_ml = number("How much is in one mix, in millilitres; null: not known.", null=True)
    mixes = whole("Into how many mixes it is divided.")
    note = text("Why it is divided, or what of the pot life is not known.", null=True)


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
    jobs = whole("How many finished jobs of the shop stand behind `work_min`; 0: it is the catalogue's.")
    catalogue = one(CatalogueWork, "Hands-on time by the catalogue, without the shop's finished jobs.")
    wait_min = number("Time after the work before a stage that depends on it may start, in minutes.")
    wait_note = text(
        "When the wait was reckoned outside of what is known, or at another temperature than the air's.",
        null=True,
    )
    bake = one(BakeGiven, "What a wait in heat is made up of; null: it is spent in the air.", null=True)
    pot_life = one(PotLifeGiven, "How long what is mixed for it can be used; null: nothing is.", null=True)
    window = one(WindowGiven, "When the stage may start; null: at any time in its turn.", null=True)
    abrasive = text("The P-grade of the abrasive.", null=True)
    coats = whole("How many coats.", null=True)
    parameters = table(scalar("A value.", null=False), "All parameters of the stage.")
    materials = texts("Materials it uses, by name in `materials`.")
    check = one(CheckGiven, "How to tell that it succeeded.", null=True)
    cautions = texts("Cautions it carries, by name in `cautions`.")
    because = texts("The rules that asked for it.")
    held = texts(
        "What of the place has to be mended before the stage is begun; empty: nothing, or an earlier stage"
        " sees to it."
    )


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
        "jobs": stage.jobs,
        "catalogue": {
            "median_min": round(stage.catalogue.median_min, 3),
            "spread": stage.catalogue.spread,
        },
        "wait_min": tenth(stage.wait_min),
        "wait_note": stage.wait_note,
        "bake": asdict(stage.bake) if stage.bake else None,
        "pot_life": asdict(stage.pot_life) if stage.pot_life else None,
        "window": window_document(stage.window) if stage.window else None,
        "abrasive": stage.abrasive,
        "coats": stage.coats,
        "parameters": plain_values(stage.parameters),
        "materials": list(stage.materials),
        "check": asdict(stage.check) if stage.check else None,
        "cautions": list(stage.cautions),
        "because": list(stage.because),
        "held": list(stage.held),
    }


def window_document(window: StageWindow) -> Document:
    latest = window.not_after_min
    return {
        "after": window.after,
        "not_before_min": tenth(window.not_before_min),
        "not_after_min": None if latest is None else tenth(latest),
        "if_missed": window.if_missed,
        "kept_probability": round(window.kept_probability, 3),
        "sentence": window.sentence,
        "note": window.note,
    }
