"""Packs of many rules in three layers, the same ones in every run."""

from __future__ import annotations

from random import Random

from strategies import boolean, enumeration, number, pack_of, rule

from rules.conditions import All, Any, Condition, OneOf, Value, Within
from rules.pack import Decide, Disposition, Pack, Rule
from rules.vocabulary import Fact, Kind, Origin

CUTS = (10.0, 20.0, 50.0)
LAYERS = 3
DERIVED_A_LAYER = 6

GIVEN: tuple[Fact, ...] = (
    *(enumeration(f"choice_{each}", "a", "b", "c", "d") for each in range(25)),
    *(boolean(f"flag_{each}") for each in range(5)),
    *(number(f"amount_{each}", 0.0, 100.0, *CUTS) for each in range(10)),
)
DERIVED: tuple[Fact, ...] = tuple(
    boolean(f"derived_{each}", origin=Origin.RULES, default=False)
    for each in range((LAYERS - 1) * DERIVED_A_LAYER)
)


def large_pack(random: Random, size: int) -> Pack:
    """`size` rules; one of them decides, whatever the facts."""
    rules = [_rule(random, f"r{each}") for each in range(size - 1)]
    always = rule("repairs", All(()), decide=Decide(Disposition.REPAIR, "invented"))
    return pack_of([*GIVEN, *DERIVED], [*rules, always])


def random_facts(random: Random) -> dict[str, Value]:
    """A value for every fact that is given."""
    return {fact.name: _value(random, fact) for fact in GIVEN}


def _value(random: Random, fact: Fact) -> Value:
    return (
        random.choice((*CUTS, random.uniform(0, 100)))
        if fact.kind is Kind.NUMBER
        else random.choice(fact.domain)
    )


def _rule(random: Random, rule_id: str) -> Rule:
    level = random.randrange(LAYERS)
    parts = [_test(random, level) for _ in range(random.randrange(1, 4))]
    if random.random() < 0.3:
        parts.append(Any((_test(random, level), All((_test(random, level), _test(random, level))))))
    concluded = DERIVED[level * DERIVED_A_LAYER : (level + 1) * DERIVED_A_LAYER]
    return rule(
        rule_id,
        All(tuple(parts)),
        conclude={random.choice(concluded).name: True} if concluded else {},
        require=("clean",) if random.random() < 0.1 else (),
    )


def _test(random: Random, level: int) -> Condition:
    fact = random.choice((*GIVEN, *DERIVED[: level * DERIVED_A_LAYER] * 3))
    negated = random.random() < 0.25
    if fact.kind is not Kind.NUMBER:
        return OneOf(fact.name, tuple(random.sample(fact.domain, random.choice((1, 1, 2)))), negated)
    at_least, below = random.choice(((10.0, None), (None, 20.0), (10.0, 50.0), (50.0, 10.0)))
    return Within(fact.name, at_least, below, negated)
