"""Layers of derived facts."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest
import strategies
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import rule

from rules.conditions import All, Any, OneOf, facts_read
from rules.layers import CircularRules, layered
from rules.pack import Pack, Rule


def reads(rule_id: str, facts: list[str], concludes: list[str]) -> Rule:
    """A rule that reads some facts and concludes others."""
    when = All(tuple(OneOf(fact, (True,)) for fact in facts))
    return rule(rule_id, when, conclude=dict.fromkeys(concludes, True))


def layers_of(*rules: Rule) -> tuple[tuple[str, ...], ...]:
    return layered({each.id: each for each in rules})


def test_a_rule_comes_after_those_that_conclude_what_it_reads() -> None:
    assert layers_of(
        reads("last", ["middle"], []),
        reads("second", ["first", "given"], ["middle"]),
        reads("one", ["given"], ["first"]),
        reads("other", ["given"], []),
    ) == (("one", "other"), ("second",), ("last",))


def test_what_is_read_inside_alternatives_counts() -> None:
    inside = rule("reader", Any((OneOf("given", (True,)), All((OneOf("concluded", (True,)),)))))
    assert layers_of(inside, reads("writer", ["given"], ["concluded"])) == (("writer",), ("reader",))


def test_every_rule_that_may_conclude_a_fact_is_waited_for() -> None:
    assert layers_of(
        reads("early", ["given"], ["fact"]),
        reads("helper", ["given"], ["help"]),
        reads("late", ["help"], ["fact"]),
        reads("reader", ["fact"], []),
    ) == (("early", "helper"), ("late",), ("reader",))


def test_no_rules_make_no_layers() -> None:
    assert layered({}) == ()


@settings(max_examples=40, deadline=None)
@given(strategies.packs())
def test_rules_stand_in_one_layer_each_just_above_what_they_depend_on(pack: Pack) -> None:
    layer_of = {rule_id: number for number, layer in enumerate(pack.layers) for rule_id in layer}
    assert sorted(layer_of) == sorted(pack.rules)
    assert sum(len(layer) for layer in pack.layers) == len(pack.rules)
    assert all(layer == tuple(sorted(layer)) for layer in pack.layers)
    for each in pack.rules.values():
        read = facts_read(each.when)
        feeders = [other.id for other in pack.rules.values() if read & other.conclude.keys()]
        assert layer_of[each.id] == 1 + max((layer_of[feeder] for feeder in feeders), default=-1)


@settings(max_examples=40, deadline=None)
@given(strategies.packs(), st.randoms(use_true_random=False))
def test_the_order_of_rules_means_nothing(pack: Pack, random: Random) -> None:
    shuffled = list(pack.rules)
    random.shuffle(shuffled)
    assert layered({rule_id: pack.rules[rule_id] for rule_id in shuffled}) == pack.layers


def test_a_rule_that_reads_what_it_concludes_is_a_circle() -> None:
    with pytest.raises(CircularRules) as refused:
        layers_of(reads("fine", ["given"], []), reads("own", ["fact"], ["fact"]))
    assert refused.value.circle == ("own", "own")
    assert str(refused.value) == "rules read what they conclude: own -> own"


def test_a_long_circle_is_named_along_what_is_concluded() -> None:
    rules = {
        each.id: each
        for each in (
            reads("x", ["c"], ["a"]),
            reads("y", ["a"], ["b"]),
            reads("z", ["b"], ["c"]),
            reads("outside", ["a"], ["d"]),
        )
    }
    with pytest.raises(CircularRules) as refused:
        layered(rules)
    circle = refused.value.circle
    assert circle[0] == circle[-1]
    assert sorted(circle[1:]) == ["x", "y", "z"]
    for writer, reader in pairwise(circle):
        assert rules[writer].conclude.keys() & facts_read(rules[reader].when)


@pytest.mark.parametrize("number", range(12))
def test_of_two_circles_the_same_one_is_always_named(number: int) -> None:
    reader = reads("a-reader", ["first", "second"], [])
    first = reads(f"b{number}", ["first"], ["first"])
    second = reads(f"c{number}", ["second"], ["second"])
    for order in ((reader, first, second), (second, first, reader)):
        with pytest.raises(CircularRules) as refused:
            layers_of(*order)
        assert refused.value.circle == (first.id, first.id)
