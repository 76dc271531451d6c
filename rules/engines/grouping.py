"""Which rules share one fact in durable-rules.

The rules of a layer are cut into groups, each matched against a fact of its own kind. That keeps
every table of the library's network far from its bound, however many rules a layer has: a fact may
have 64 partly matched branches pending (error 303), 512 distinct tests below one node (hangs), 255
rules behind one node (crashes), 127 alternatives behind one node (error 107), 252 attributes (error 302).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import count

from rules.engines.measures import SingleTest, single_tests, ways
from rules.engines.names import distinct_names
from rules.engines.translate import NEVER, Expression, all_of, translated
from rules.pack import Pack
from rules.vocabulary import Fact

GROUP_WAYS = 48
GROUP_TESTS = 200
KIND = "kind"
START = 0
RESERVED = (KIND, "id", "sid", "$s", "$forward")
"""The attributes that every fact has beside its own, and those the library itself adds."""


@dataclass(frozen=True)
class Group:
    """Rules matched against one fact: patterns by rule id, and the facts they read by attribute."""

    kind: int
    patterns: Mapping[str, Expression]
    reads: Mapping[str, Fact]


def grouped(pack: Pack) -> tuple[tuple[Group, ...], ...]:
    """The groups of each layer of `pack`. Rules that can never hold are in none."""
    attributes = attributes_of(pack)
    kinds = count(START + 1)
    return tuple(
        tuple(
            _group(pack, next(kinds), expressions, attributes)
            for expressions in _split(expressions_of(pack, layer, attributes))
        )
        for layer in pack.layers
    )


def attributes_of(pack: Pack) -> dict[str, str]:
    """For each fact of the vocabulary, its attribute in the library."""
    facts = tuple(pack.vocabulary.facts)
    return dict(zip(facts, distinct_names("f", len(facts), RESERVED), strict=True))


def expressions_of(pack: Pack, layer: Iterable[str], attributes: Mapping[str, str]) -> dict[str, Expression]:
    return {rule_id: translated(pack.rules[rule_id].when, pack.vocabulary, attributes) for rule_id in layer}


def _split(expressions: Mapping[str, Expression]) -> list[dict[str, Expression]]:
    """Consecutive rules, as many as fit."""
    groups: list[dict[str, Expression]] = []
    used_ways, used_tests = 0, set[SingleTest]()
    for rule_id, expression in expressions.items():
        if expression == NEVER:
            continue
        needed, wanted = ways(expression), set(single_tests(expression))
        if not groups or used_ways + needed > GROUP_WAYS or len(used_tests | wanted) > GROUP_TESTS:
            groups.append({})
            used_ways, used_tests = 0, set()
        groups[-1][rule_id] = expression
        used_ways += needed
        used_tests |= wanted
    return groups


def _group(pack: Pack, kind: int, expressions: Mapping[str, Expression], facts: Mapping[str, str]) -> Group:
    read = {attribute for each in expressions.values() for _, attribute, _ in single_tests(each)}
    return Group(
        kind=kind,
        patterns={rule_id: all_of(({KIND: kind}, each)) for rule_id, each in expressions.items()},
        reads={attribute: pack.vocabulary[name] for name, attribute in facts.items() if attribute in read},
    )
