"""Packs beyond what durable-rules takes safely are refused by name; packs at the limits are answered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from strategies import boolean, enumeration, pack_of, rule

from rules.conditions import All, Any, Condition, OneOf
from rules.engines.limits import EngineLimit, breaches
from rules.engines.reference import ReferenceEngine
from rules.pack import Pack
from rules.places import Place
from rules.vocabulary import Origin

DurableEngine = pytest.importorskip(
    "rules.engines.durable_adapter", reason="needs durable-rules"
).DurableEngine

FLAGS = [boolean(f"flag_{number}") for number in range(60)]


def flag(number: int) -> Condition:
    return OneOf(f"flag_{number}", (True,))


def rules_at(count: int) -> Pack:
    return pack_of(FLAGS, [rule(f"r{number}", flag(number % 60)) for number in range(count)])


def combinations(first: int, second: int) -> Pack:
    """One rule with first x second alternatives, all of which hold at once."""
    either = Any(tuple(flag(number) for number in range(first)))
    other = Any(tuple(flag(first + number) for number in range(second)))
    return pack_of(FLAGS, [rule("wide", All((either, other)))])


def joined(count: int) -> Pack:
    """One rule whose tests are joined `count` times."""
    facts = [enumeration(f"kind_{number}", "a", "b", "c") for number in range(count - 1)]
    return pack_of(facts, [rule("joined", All(tuple(OneOf(fact.name, ("a", "b")) for fact in facts)))])


def many_tests(count: int) -> Pack:
    members = [f"m{number}" for number in range(count + 1)]
    return pack_of([enumeration("kind", *members)], [rule("long", OneOf("kind", tuple(members[:-1])))])


def chain(length: int) -> Pack:
    """Rules each of which reads what the one before concludes."""
    links = [boolean(f"link_{n}", origin=Origin.RULES, default=False) for n in range(length)]
    rules = [
        rule(f"r{n}", OneOf(f"link_{n - 1}" if n else "flag_0", (True,)), conclude={f"link_{n}": True})
        for n in range(length)
    ]
    return pack_of([*FLAGS, *links], rules)


AT_AND_BEYOND = [
    ("R301", rules_at(1000), rules_at(1001), "1001 rules are more than 1000"),
    ("R302", combinations(6, 8), combinations(7, 7), "'wide' has 49 combinations"),
    ("R303", joined(12), joined(13), "'joined' joins tests 13 times"),
    ("R304", many_tests(200), many_tests(201), "'long' makes 201 tests"),
    ("R305", chain(250), chain(251), "251 rules in 251 layers take 251 passes"),
]


@pytest.mark.parametrize(
    ("code", "at", "beyond", "text"), AT_AND_BEYOND, ids=[each[0] for each in AT_AND_BEYOND]
)
def test_a_pack_beyond_a_limit_is_refused(code: str, at: Pack, beyond: Pack, text: str) -> None:
    (breach,) = breaches(beyond)
    assert breach.code == code
    assert text in breach.message
    assert ("'" in text) == (breach.rule is not None)
    with pytest.raises(EngineLimit, match=code) as refused:
        DurableEngine(beyond)
    assert refused.value.breaches == (breach,)


@pytest.mark.parametrize(
    ("code", "at", "beyond", "text"), AT_AND_BEYOND, ids=[each[0] for each in AT_AND_BEYOND]
)
def test_a_pack_at_a_limit_is_answered(code: str, at: Pack, beyond: Pack, text: str) -> None:
    assert breaches(at) == ()
    engine, reference = DurableEngine(at), ReferenceEngine(at)
    facts = {fact.name: fact.domain[-1] for fact in at.vocabulary}
    fewer = {fact.name: fact.domain[0] for fact in at.vocabulary}
    for values in (facts, fewer):
        with engine.evaluation() as match_layer, reference.evaluation() as expected:
            for layer in range(len(at.layers)):
                assert match_layer(layer, values) == expected(layer, values)
    engine.close()


def test_every_breach_is_told_at_its_place_in_the_order_of_codes() -> None:
    long, wide = many_tests(300), combinations(9, 9)
    rules = [
        replace(long.rules["long"], place=Place("rules/a.yaml", 7, 3)),
        replace(wide.rules["wide"], place=Place("rules/b.yaml", 2, 3)),
    ]
    found = breaches(pack_of([*long.vocabulary, *wide.vocabulary], rules))
    assert [(breach.code, str(breach.place)) for breach in found] == [
        ("R302", "rules/b.yaml:2:3"),
        ("R304", "rules/a.yaml:7:3"),
    ]


def test_limits_of_one_rule_hold_for_the_rule_and_not_for_its_layer() -> None:
    ten = [rule(f"wide-{number}", combinations(6, 8).rules["wide"].when) for number in range(10)]
    assert breaches(pack_of(FLAGS, ten)) == ()


def test_a_rule_that_can_never_hold_costs_nothing_and_never_fires() -> None:
    never = Any(())
    pack = pack_of(FLAGS, [rule("never", All((never, flag(0)))), rule("sometimes", flag(0))])
    assert breaches(pack) == ()
    engine = DurableEngine(pack)
    with engine.evaluation() as match_layer:
        assert match_layer(0, {fact.name: True for fact in FLAGS}) == {"sometimes"}
    engine.close()
