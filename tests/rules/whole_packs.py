"""Random whole packs: facts that do not always apply, materials, stages, cautions, derived numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

import strategies
from hypothesis import strategies as st

from rules.conditions import All, Condition, Value, Within
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.pack import Caution, Decide, Disposition, Pack, Rule, Stage, Substrate, Wait, Work
from rules.places import Place
from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin

HERE = Place("rules/all.yaml", 1, 1, "invented")
CAUTIONS = ("dust", "vapour")
AMOUNT = strategies.number("amount", 0.0, 10.0, 2.0, 5.0, origin=Origin.RULES, default=0.0)


def stage(name: str, *after: str, **more: object) -> Stage:
    """A stage of the one phase there is."""
    plain = Stage(
        name, name, "work", "bench", "body", (), Work(5.0), Wait(0.0), "invented", after, place=HERE
    )
    return replace(plain, **more)  # type: ignore[arg-type]


STAGES = {
    each.id: each
    for each in (
        stage("clean", cautions=("vapour",)),
        stage("prime", "clean", parameters={"coats": 2.0}, from_substrate={"limit_c": "limit"}),
    )
}


@st.composite
def whole_packs(draw: st.DrawFn, max_rules: int = 7) -> Pack:
    """Complete but for their texts; often with faults."""
    properties = [strategies.enumeration("energy", "low", "high"), strategies.number("limit", 0, 100, 60)]
    properties = [replace(fact, origin=Origin.SUBSTRATE) for fact in properties]
    plain = [draw(line_item_facts(f"plain_{each}")) for each in range(draw(st.integers(1, 2)))]
    hanging = [
        draw(hanging_facts(f"hanging_{each}", [*plain, *properties]))
        for each in range(draw(st.integers(0, 2)))
    ]
    derived = [draw(strategies.derived_facts(f"derived_{each}")) for each in range(draw(st.integers(1, 2)))]
    given = [*plain, *hanging, *properties]
    rules = [
        draw(strategies.rules_of(f"r{each}", given, derived))
        for each in range(draw(st.integers(1, max_rules)))
    ]
    # As in any pack that passes its checks, no rules override one another in a circle.
    rules = [
        replace(rule, overrides=tuple(name for name in rule.overrides if name < rule.id)) for rule in rules
    ]
    rules += draw(rules_on_amounts(given))
    if draw(st.booleans()):
        rules += draw(ordinary_decisions(given))
    pack = strategies.pack_of([*given, *derived, AMOUNT], [replace(rule, place=HERE) for rule in rules])
    return replace(
        pack,
        phases=("work",),
        stages=STAGES,
        cautions={name: caution(name) for name in CAUTIONS},
        substrates={each.symbol: each for each in draw(substrates())},
    )


def caution(name: str) -> Caution:
    return Caution(name, name, "notice", "", "", "", "", "invented", place=HERE)


@st.composite
def line_item_facts(draw: st.DrawFn, name: str) -> Fact:
    """A fact that always applies, with a default or without."""
    fact = replace(draw(strategies.facts(name)), otherwise=None, given_as=f"/damage/{name}")
    return replace(fact, default=draw(st.none() | strategies.values_of(fact)))


@st.composite
def hanging_facts(draw: st.DrawFn, name: str, on: Sequence[Fact]) -> Fact:
    """A fact that applies where another has some value."""
    fact = draw(line_item_facts(name))
    extra = draw(st.booleans()) and fact.kind is Kind.ENUMERATION
    otherwise = f"{name}_inapplicable" if extra else draw(strategies.values_of(fact))
    return replace(fact, applies_when=draw(strategies.single_tests(on)), otherwise=otherwise)


@st.composite
def ordinary_decisions(draw: st.DrawFn, given: Sequence[Fact]) -> list[Rule]:
    """Everything is repaired, but for what is replaced, in two coats or one."""
    everywhere, instead = ("repairs", Disposition.REPAIR), ("replaces", Disposition.REPLACE)
    settings = [{("prime", "coats"): coats} for coats in draw(st.permutations([1.0, 2.0]))]
    return [
        strategies.rule(
            name,
            All(()) if name == "repairs" else draw(strategies.single_tests(given)),
            decide=Decide(disposition, "invented"),
            settings=setting,
            overrides=() if name == "repairs" else ("repairs",),
        )
        for (name, disposition), setting in zip((everywhere, instead), settings, strict=True)
    ]


@st.composite
def rules_on_amounts(draw: st.DrawFn, given: Sequence[Fact]) -> list[Rule]:
    """Rules that conclude a number, seldom one that stands for its cell, and rules that read it."""
    amounts = st.floats(0.0, 10.0)
    when = strategies.single_tests(given)
    concluding = [
        strategies.rule(f"concludes_{each}", draw(when), conclude={"amount": draw(amounts)})
        for each in range(draw(st.integers(0, 2)))
    ]
    bounds = draw(st.sampled_from([(2.0, None), (None, 5.0), (2.0, 5.0)]))
    test: Condition = Within("amount", *bounds, draw(st.booleans()))
    reading = strategies.rule("reads", test, cautions=("dust",), require=("clean",))
    return [*concluding, reading]


@st.composite
def substrates(draw: st.DrawFn) -> list[Substrate]:
    """Some alike, some only to rules; one may be the unknown one."""
    rows = draw(
        st.lists(
            st.tuples(st.sampled_from(["low", "high"]), st.sampled_from([10.0, 20.0, 80.0])),
            min_size=1,
            max_size=4,
        )
    )
    symbols = ["unknown" if draw(st.booleans()) else "M0", "M1", "M2", "M3"]
    return [
        Substrate(symbol, symbol, {"energy": energy, "limit": limit}, place=HERE)
        for symbol, (energy, limit) in zip(symbols, rows, strict=False)
    ]


def every_cell(pack: Pack) -> Iterator[tuple[Substrate, Mapping[str, Value]]]:
    """Each material with each combination of cells that a line item can lead to, as complete facts."""
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    for substrate, values in product(pack.substrates.values(), product(*(fact.domain for fact in facts))):
        complete_facts = {**substrate.properties, **dict(zip((f.name for f in facts), values, strict=True))}
        if all(_can_be(fact, complete_facts) for fact in facts):
            yield substrate, complete_facts


def _can_be(fact: Fact, facts: Mapping[str, Value]) -> bool:
    if fact.applies_when is None:
        return True
    value = facts[fact.name]
    if holds(fact.applies_when, facts):
        return fact.kind is not Kind.ENUMERATION or value in fact.values
    assert fact.otherwise is not None
    return fact.cell_of(value) == fact.cell_of(fact.otherwise)


def decided(pack: Pack, facts: Mapping[str, Value]) -> Decision | None:
    """The reference decision; None for a fault of the pack."""
    try:
        return Decider(pack, ReferenceEngine(pack)).decide(facts)
    except PackFault:
        return None


def completed(pack: Pack, material: str, facts: Mapping[str, Value]) -> Mapping[str, Value]:
    """What `rules.intake` makes of a material and the facts stated."""
    return complete(pack, pack.substrates[material], facts).values
