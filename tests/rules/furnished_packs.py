"""Random packs with a catalogue to their names, and what they answer, cell by cell, by the reference."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import product

from rules.conditions import Value
from rules.decider import Decider
from rules.decision import PackFault
from rules.engines.reference import ReferenceEngine
from rules.pack import Caution, Pack, Stage, Substrate, Wait, Work
from rules.places import Place
from rules.vocabulary import Origin

HERE = Place("rules/invented.yaml", 1, 1, "invented")


def furnished(pack: Pack) -> Pack:
    """The pack with the stages, cautions and the one material that its rules speak of."""
    return replace(
        pack,
        phases=("clean", "prime"),
        rules={rule.id: replace(rule, place=HERE) for rule in pack.rules.values()},
        stages={"clean": _stage("clean"), "prime": _stage("prime", ("vapour",), {"coats": 1.0})},
        cautions={name: Caution(name, *["invented"] * 7) for name in ("dust", "vapour")},
        substrates={"PP": Substrate("PP", "invented", {})},
    )


def _stage(name: str, cautions: tuple[str, ...] = (), parameters: Mapping[str, float] | None = None) -> Stage:
    stage = Stage(name, name, name, "bench", "body", ("Do it.",), Work(1.0), Wait(0.0), "invented")
    return replace(stage, cautions=cautions, parameters=parameters or {})


def every_cell(pack: Pack) -> Iterator[Mapping[str, Value]]:
    """One set of facts for each cell."""
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    for values in product(*(fact.domain for fact in facts)):
        yield dict(zip((fact.name for fact in facts), values, strict=True))


def answer(pack: Pack, facts: Mapping[str, Value]) -> object:
    """All that people see of a decision; None where rules give no single answer."""
    try:
        decision = Decider(pack, ReferenceEngine(pack)).decide(facts)
    except PackFault:
        return None
    parameters = {}
    for stage in decision.stages:
        for (owner, name), setting in decision.settings.items():
            if owner == stage:
                parameters[stage, name] = setting.value
        parameters = {
            **{(stage, name): value for name, value in pack.stages[stage].parameters.items()},
            **parameters,
        }
    return (
        decision.disposition,
        frozenset(reason.text for reason in decision.reasons),
        frozenset(decision.stages),
        frozenset(parameters.items()),
        frozenset(decision.cautions)
        | {each for stage in decision.stages for each in pack.stages[stage].cautions},
    )
