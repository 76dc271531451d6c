"""Conditions as expressions over cells, and how these are measured and grouped."""

from __future__ import annotations

import pytest
import strategies
from hypothesis import given, settings
from strategies import boolean, enumeration, number, pack_of, rule

from rules.conditions import All, Any, Condition, OneOf, Within
from rules.engines.grouping import GROUP_TESTS, GROUP_WAYS, grouped
from rules.engines.measures import blocks, single_tests, ways
from rules.engines.names import distinct_names, fnv1a
from rules.engines.translate import ALWAYS, NEVER, Expression, translated
from rules.pack import Pack
from rules.vocabulary import Vocabulary

FACTS = [
    enumeration("kind", "a", "b", "c", otherwise="none"),
    boolean("wet"),
    number("amount", 0.0, 100.0, 10.0, 50.0),
]
VOCABULARY = Vocabulary({fact.name: fact for fact in FACTS})
ATTRIBUTES = {"kind": "k", "wet": "w", "amount": "a"}
WET = OneOf("wet", (True,))


def expression_of(condition: Condition) -> Expression:
    return translated(condition, VOCABULARY, ATTRIBUTES)


@pytest.mark.parametrize(
    ("condition", "expression"),
    [
        (WET, {"w": 1}),
        (OneOf("wet", (True,), negated=True), {"$neq": {"w": 1}}),
        (OneOf("kind", ("c", "a")), {"$or": [{"k": 0}, {"k": 2}]}),
        (OneOf("kind", ("a", "none"), negated=True), {"$and": [{"$neq": {"k": 0}}, {"$neq": {"k": 3}}]}),
        (Within("amount", 10.0, None), {"$gte": {"a": 1}}),
        (Within("amount", None, 50.0), {"$lt": {"a": 2}}),
        (Within("amount", 10.0, 50.0), {"$and": [{"$gte": {"a": 1}}, {"$lt": {"a": 2}}]}),
        (Within("amount", 10.0, 50.0, negated=True), {"$or": [{"$lt": {"a": 1}}, {"$gte": {"a": 2}}]}),
        (Within("amount", 10.0, None, negated=True), {"$lt": {"a": 1}}),
        (All((WET,)), {"w": 1}),
        (Any((WET, WET)), {"w": 1}),
        (All((WET, All((WET, Within("amount", 10.0, None))))), {"$and": [{"w": 1}, {"$gte": {"a": 1}}]}),
        (Any((WET, OneOf("kind", ("a", "b")))), {"$or": [{"w": 1}, {"k": 0}, {"k": 1}]}),
        (All((OneOf("kind", ("a", "b")), WET)), {"$and": [{"w": 1}, {"$or": [{"k": 0}, {"k": 1}]}]}),
        (All(()), ALWAYS),
        (Any(()), NEVER),
        (All((WET, Any(()))), NEVER),
        (Any((WET, All(()))), ALWAYS),
        (OneOf("wet", (1.0,)), NEVER),
        (OneOf("wet", (1.0,), negated=True), ALWAYS),
    ],
)
def test_a_condition_becomes_tests_of_cells(condition: Condition, expression: Expression) -> None:
    assert expression_of(condition) == expression


@pytest.mark.parametrize(
    "condition", [OneOf("amount", (10.0,)), Within("amount", 11.0, None), Within("wet", None, 1.0)]
)
def test_what_cells_can_not_express_is_refused(condition: Condition) -> None:
    with pytest.raises(ValueError, match="cut point"):
        expression_of(condition)


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        (WET, (1, 0, 1)),
        (OneOf("kind", ("a", "b", "c")), (1, 1, 3)),
        (Any((WET, OneOf("kind", ("a", "b")))), (2, 1, 3)),
        (Any((WET, All((OneOf("kind", ("a", "b")), Any((WET, Within("amount", 10.0, None))))))), (3, 4, 5)),
        (All(()), (1, 1, 0)),
    ],
)
def test_an_expression_is_measured(condition: Condition, expected: tuple[int, int, int]) -> None:
    expression = expression_of(condition)
    assert (ways(expression), blocks(expression), len(list(single_tests(expression)))) == expected


def groups_of(pack: Pack) -> list[tuple[str, ...]]:
    return [tuple(group.patterns) for layer in grouped(pack) for group in layer]


def test_rules_share_a_group_until_their_alternatives_fill_it() -> None:
    either = Any((WET, Within("amount", 10.0, None)))
    pack = pack_of(FACTS, [rule(f"r{each:03}", either) for each in range(60)])
    assert [len(group) for group in groups_of(pack)] == [24, 24, 12]


def test_rules_share_a_group_until_their_tests_fill_it() -> None:
    members = [f"m{each}" for each in range(1000)]
    rules = [
        rule(f"r{each}", OneOf("kind", tuple(members[each * 80 : (each + 1) * 80]))) for each in range(6)
    ]
    assert groups_of(pack_of([enumeration("kind", *members)], rules)) == [
        ("r0", "r1"),
        ("r2", "r3"),
        ("r4", "r5"),
    ]


def test_a_rule_that_can_never_hold_is_in_no_group() -> None:
    pack = pack_of(FACTS, [rule("never", All((WET, Any(())))), rule("sometimes", WET)])
    assert groups_of(pack) == [("sometimes",)]
    assert groups_of(pack_of(FACTS, [rule("never", Any(()))])) == []


@settings(max_examples=40, deadline=None)
@given(strategies.packs())
def test_every_rule_is_in_one_group_of_its_layer_and_every_group_is_small(pack: Pack) -> None:
    layers = grouped(pack)
    assert len(layers) == len(pack.layers)
    for layer, rule_ids in zip(layers, pack.layers, strict=True):
        grouped_ids = [rule_id for group in layer for rule_id in group.patterns]
        assert sorted(grouped_ids) == grouped_ids
        assert set(grouped_ids) <= set(rule_ids)
        for group in layer:
            patterns = group.patterns.values()
            tests = {test for pattern in patterns for test in single_tests(pattern)}
            assert sum(ways(pattern) for pattern in patterns) <= GROUP_WAYS
            assert len(tests) <= GROUP_TESTS + 1
            assert {attribute for _, attribute, _ in tests} == {"kind", *group.reads}


def test_names_with_the_hash_of_another_are_passed_over() -> None:
    assert distinct_names("f", 3, ()) == ("f0", "f1", "f2")
    assert distinct_names("f", 3, ("f1", "kind")) == ("f0", "f2", "f3")
    # 40189 and 797186 have one hash.
    assert fnv1a("40189") == fnv1a("797186")
    assert distinct_names("4018", 10, ("797186",))[9] == "401810"
