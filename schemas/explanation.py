"""Why a procedure is as it is, on the wire."""

from __future__ import annotations

from typing import Any

from rules.explain import Asked, Explanation, NotFired, RuleNote
from rules.pack import Pack
from rules.places import Place
from rules.proof.change import Change
from schemas.answers import Answer, PackNamed, many, one, scalar, table, text, whole
from schemas.figures import plain, plain_values
from schemas.procedure.document import Document, pack_named

ASKED = ("derived", "stages", "settings", "cautions")


def explanation_of(explanation: Explanation, procedure_id: str, pack: Pack) -> Document:
    """The explanation as JSON; what would fire a rule is told of the rule that was asked for alone."""
    return {
        "procedure": procedure_id,
        "pack": pack_named(pack),
        "facts": plain_values(explanation.facts),
        "disposition": [_note(note) for note in explanation.disposition],
        **{name: [_asked(entry) for entry in getattr(explanation, name)] for name in ASKED},
        "not_fired": [
            _not_fired(entry) | ({"change": _change(entry.change, pack)} if explanation.asked else {})
            for entry in explanation.not_fired
        ],
    }


def _asked(entry: Asked) -> Document:
    return {
        "name": entry.name,
        "value": plain(entry.value),
        "rules": [_note(note) for note in entry.rules],
        "declared_at": _place(entry.declared_at),
    }


def _note(note: RuleNote) -> Document:
    return {"rule": note.rule, "why": note.why, "source": note.source, "place": _place(note.place)}


def _not_fired(entry: NotFired) -> Document:
    return {
        **_note(entry.rule),
        "failed": entry.failed,
        "failed_at": _place(entry.place),
        "read": plain_values(entry.read),
    }


def _change(change: Change | None, pack: Pack) -> Document | None:
    if change is None:
        return None
    return {
        "material": change.material,
        "facts": [
            {"fact": fact, "value": plain(value), "given_as": pack.vocabulary[fact].given_as}
            for fact, value in change.facts.items()
        ],
    }


def _place(place: Place) -> dict[str, Any]:
    return {"pack": place.pack or None, "file": place.file, "line": place.line, "column": place.column}


class PlaceInPack(Answer):
    pack = text("The pack whose file it is.", null=True)
    file = text("The file, from the pack's folder.")
    line = whole("The line, from 1.")
    column = whole("The column, from 1.")


class RuleNoted(Answer):
    rule = text("The rule's name.")
    why = text("What it is for.")
    source = text("On whose word.")
    place = one(PlaceInPack, "Where it is written.")


class AskedFor(Answer):
    name = text("A stage, caution, `stage.parameter` or derived fact.")
    value = scalar("The value of a parameter or derived fact.")
    rules = many(RuleNoted, "The rules that asked for it; empty: it has its default.")
    declared_at = one(PlaceInPack, "Where the thing itself is written, or an overlay changed it last.")


class FactChanged(Answer):
    fact = text("The fact.")
    value = scalar("The value to state; null: it no longer applies, and is left out.")
    given_as = text("JSON pointer of the fact in a line item.", null=True)


class ChangeOfFacts(Answer):
    material = text("Another material; null: it stays.", null=True)
    facts = many(FactChanged, "The facts to state otherwise.")


class RuleNotFired(RuleNoted):
    failed = text("The first of its conditions that did not hold, in words.")
    failed_at = one(PlaceInPack, "Where that condition is written.")
    read = table(scalar("A value."), "The facts that condition read.")
    change = one(
        ChangeOfFacts,
        "The smallest change of facts that fires it; null: none does. Only where `rule` was asked for.",
        null=True,
        optional=True,
    )


class ExplanationAnswer(Answer):
    procedure = text("The id of the procedure.")
    pack = one(PackNamed, "The rule pack that decided.")
    facts = table(scalar("A value."), "All facts: given, of the substrate, and derived.")
    disposition = many(RuleNoted, "The rules that decided what is to be done with the part.")
    derived = many(AskedFor, "Facts that the rules concluded.")
    stages = many(AskedFor, "Stages that rules asked for.")
    settings = many(AskedFor, "Stage parameters that rules set.")
    cautions = many(AskedFor, "Cautions that rules asked for.")
    not_fired = many(RuleNotFired, "Rules that did nothing, and why.")
