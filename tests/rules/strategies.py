"""Random rule packs and random facts for them, built from the dataclasses alone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import count

from hypothesis import strategies as st

from rules.conditions import All, Any, Condition, OneOf, Value, Within
from rules.layers import layered
from rules.pack import Decide, Disposition, Pack, Rule
from rules.vocabulary import Fact, Kind, Origin, Vocabulary

_digests = count()


def pack_of(facts: Sequence[Fact], rules: Sequence[Rule], digest: str | None = None) -> Pack:
    """A pack of these facts and rules and nothing else, its digest unlike that of any other."""
    by_id = {rule.id: rule for rule in rules}
    return Pack(
        name="invented",
        version="1.0.0",
        title="Invented for a test",
        digest=digest or f"{next(_digests):064x}",
        effective_from=date(2026, 1, 1),
        effective_until=None,
        vocabulary=Vocabulary({fact.name: fact for fact in facts}),
        phases=(),
        resources=(),
        labour=(),
        rules=by_id,
        stages={},
        cautions={},
        materials={},
        substrates={},
        layers=layered(by_id),
    )


def rule(rule_id: str, when: Condition, **effects: object) -> Rule:
    """A rule with a reason and a source."""
    return Rule(id=rule_id, when=when, why="invented", source="invented", **effects)  # type: ignore[arg-type]


def enumeration(name: str, *members: str, **more: object) -> Fact:
    """An enumeration that a line item gives."""
    values = dict.fromkeys(members, "invented")
    fact = Fact(name, Kind.ENUMERATION, Origin.LINE_ITEM, "invented", values=values)
    return replace(fact, **more)  # type: ignore[arg-type]


def boolean(name: str, **more: object) -> Fact:
    """A truth value that a line item gives."""
    return replace(Fact(name, Kind.BOOLEAN, Origin.LINE_ITEM, "invented"), **more)  # type: ignore[arg-type]


def number(name: str, minimum: float, maximum: float, *cut_points: float, **more: object) -> Fact:
    """A number that a line item gives."""
    fact = Fact(
        name,
        Kind.NUMBER,
        Origin.LINE_ITEM,
        "invented",
        minimum=minimum,
        maximum=maximum,
        cut_points=cut_points,
    )
    return replace(fact, **more)  # type: ignore[arg-type]


def facts(prefix: str) -> st.SearchStrategy[Fact]:
    """One fact of any kind, not yet named apart from others."""
    members = st.integers(2, 4).map(lambda size: tuple(f"{prefix}_{letter}" for letter in "abcd"[:size]))
    cuts = st.lists(st.integers(1, 99).map(float), min_size=1, max_size=3, unique=True).map(sorted)
    return st.one_of(
        members.map(lambda names: enumeration(prefix, *names)),
        members.map(lambda names: enumeration(prefix, *names, otherwise=f"{prefix}_none")),
        st.just(boolean(prefix)),
        cuts.map(lambda points: number(prefix, 0.0, 100.0, *points)),
    )


@st.composite
def derived_facts(draw: st.DrawFn, name: str) -> Fact:
    """A derived fact with a default."""
    fact = draw(facts(name).filter(lambda fact: fact.kind is not Kind.NUMBER))
    return replace(fact, origin=Origin.RULES, otherwise=None, default=draw(st.sampled_from(_members(fact))))


def _members(fact: Fact) -> list[Value]:
    return [False, True] if fact.kind is Kind.BOOLEAN else list(fact.values)


@st.composite
def single_tests(draw: st.DrawFn, of: Sequence[Fact]) -> Condition:
    """A test of one of these facts."""
    fact = draw(st.sampled_from(of))
    negated = draw(st.booleans())
    if fact.kind is not Kind.NUMBER:
        wanted = draw(st.lists(st.sampled_from(fact.domain), min_size=1, max_size=3, unique=True))
        return OneOf(fact.name, tuple(wanted), negated)
    bounds = st.none() | st.sampled_from(fact.cut_points)
    at_least, below = draw(st.tuples(bounds, bounds).filter(lambda pair: pair != (None, None)))
    return Within(fact.name, at_least, below, negated)


def conditions(of: Sequence[Fact]) -> st.SearchStrategy[Condition]:
    """Tests joined by all and any, nested; alternatives may overlap and may be all equal."""
    return st.recursive(
        single_tests(of),
        lambda parts: st.one_of(
            st.lists(parts, max_size=3).map(lambda each: All(tuple(each))),
            st.lists(parts, min_size=1, max_size=3).map(lambda each: Any(tuple(each))),
        ),
        max_leaves=6,
    )


@st.composite
def rules_of(draw: st.DrawFn, rule_id: str, given: Sequence[Fact], derived: Sequence[Fact]) -> Rule:
    """A rule that reads some of the first derived facts and may conclude some of the others."""
    level = draw(st.sampled_from(range(len(derived) + 1)))
    concluded = derived[level : level + draw(st.sampled_from([0, 1, 1, 2]))]
    disposition = draw(st.sampled_from([None, None, None, Disposition.REPAIR, Disposition.REFER]))
    return rule(
        rule_id,
        draw(conditions([*given, *derived[:level]])),
        conclude={fact.name: draw(st.sampled_from(_members(fact))) for fact in concluded},
        require=tuple(draw(st.lists(st.sampled_from(["clean", "prime"]), max_size=1))),
        settings=draw(st.dictionaries(st.just(("prime", "coats")), st.sampled_from([1.0, 2.0]), max_size=1)),
        cautions=tuple(draw(st.lists(st.sampled_from(["dust", "vapour"]), max_size=1))),
        decide=disposition and Decide(disposition, "invented"),
        overrides=tuple(draw(st.lists(st.sampled_from(["r0", "r1", "r2"]), max_size=1))),
    )


@st.composite
def packs(draw: st.DrawFn, max_rules: int = 8) -> Pack:
    """Layers of derived facts, alternatives, negations, ranges and overrides; often with faults."""
    given = [draw(facts(f"given_{number}")) for number in range(draw(st.integers(2, 4)))]
    derived = [draw(derived_facts(f"derived_{number}")) for number in range(draw(st.integers(1, 3)))]
    size = draw(st.sampled_from([0, max_rules // 2, max_rules, max_rules, max_rules]))
    rules = [draw(rules_of(f"r{number}", given, derived)) for number in range(size)]
    if draw(st.sampled_from([True, True, True, False])):
        rules.append(rule("repairs", All(()), decide=Decide(Disposition.REPAIR, "invented")))
    return pack_of([*given, *derived], rules)


def facts_for(pack: Pack) -> st.SearchStrategy[Mapping[str, Value]]:
    """A value for every fact that is not derived."""
    given = {fact.name: values_of(fact) for fact in pack.vocabulary if fact.origin is not Origin.RULES}
    return st.fixed_dictionaries(given)


def values_of(fact: Fact) -> st.SearchStrategy[Value]:
    """Any value of a fact; of a number often a cut point or its neighbour."""
    if fact.kind is not Kind.NUMBER:
        return st.sampled_from(fact.domain)
    edges = [
        edge for cut in fact.cut_points for edge in (math.nextafter(cut, 0.0), cut, math.nextafter(cut, 1e9))
    ]
    return st.sampled_from(edges) | st.floats(fact.minimum, fact.maximum)
