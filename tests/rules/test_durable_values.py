"""What durable-rules compares wrongly without a word, and that the adapter's cells are immune to it."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from strategies import boolean, enumeration, number, pack_of, rule

from rules.conditions import All, Any, Condition, OneOf, Value, Within
from rules.engines.grouping import KIND, grouped
from rules.engines.measures import single_tests
from rules.engines.translate import Expression
from rules.pack import Pack
from rules.vocabulary import Fact, Origin

raw_library = pytest.importorskip("raw_library", reason="needs durable-rules")
DurableEngine = pytest.importorskip("rules.engines.durable_adapter").DurableEngine
library = pytest.importorskip("durable.engine")


def matched(facts: list[Fact], conditions: Mapping[str, Condition], values: Mapping[str, Value]) -> set[str]:
    """The names of the conditions that hold, according to the adapter."""
    engine = DurableEngine(pack_of(facts, [rule(name, when) for name, when in conditions.items()]))
    try:
        with engine.evaluation() as match_layer:
            return set(match_layer(0, values))
    finally:
        engine.close()


def test_long_texts_are_told_apart() -> None:
    one, other = "a", "a" + "x" * 65_536
    assert raw_library.firings({"kind": one}, {"kind": other}) == 1
    conditions = {"one": OneOf("kind", (one,)), "other": OneOf("kind", (other,))}
    assert matched([enumeration("kind", one, other)], conditions, {"kind": other}) == {"other"}


def test_texts_numbers_and_truth_values_are_told_apart() -> None:
    assert raw_library.firings({"a": True}, {"a": 1}) == 1
    assert raw_library.firings({"a": "1"}, {"a": 1}) == 1
    facts = [enumeration("text", "1", "true", "True"), boolean("truth"), number("amount", 0.0, 9.0, 1.0)]
    conditions = {
        "text-1": OneOf("text", ("1",)),
        "text-true": OneOf("text", ("true",)),
        "truth": OneOf("truth", (True,)),
        "number-as-truth": OneOf("truth", (1.0,)),
        "truth-as-text": OneOf("text", (True,)),
        "amount-1": Within("amount", 1.0, None),
    }
    values = {"text": "True", "truth": True, "amount": 0.5}
    assert matched(facts, conditions, values) == {"truth"}
    assert matched(facts, conditions, {**values, "text": "1"}) == {"truth", "text-1"}


def test_null_is_not_unequal_to_a_text_in_the_library_and_never_reaches_it() -> None:
    assert raw_library.firings({"$neq": {"kind": "x"}}, {"kind": None}) == 0
    conditions = {"not-b": OneOf("kind", ("b",), negated=True)}
    fact = enumeration("kind", "a", "b", otherwise="not_applicable")
    assert matched([fact], conditions, {"kind": "not_applicable"}) == {"not-b"}


def test_huge_and_tiny_numbers_are_told_apart() -> None:
    assert raw_library.firings({"amount": 2**63}, {"amount": 2**63 + 5}) == 1
    fact = number("amount", 0.0, 1e300, 1e-7, 2.0**63, 2.0**63 + 4096)
    conditions = {
        "any": Within("amount", 1e-7, None),
        "huge": Within("amount", 2.0**63, 2.0**63 + 4096),
        "huger": Within("amount", 2.0**63 + 4096, None),
    }
    assert matched([fact], conditions, {"amount": 1e-8}) == set()
    assert matched([fact], conditions, {"amount": 1e-7}) == {"any"}
    assert matched([fact], conditions, {"amount": 2.0**63}) == {"any", "huge"}
    assert matched([fact], conditions, {"amount": 1e299}) == {"any", "huger"}


def test_overlapping_alternatives_fire_repeatedly_in_the_library_and_count_once_here() -> None:
    assert raw_library.firings({"$or": [{"a": 1}, {"b": 1}, {"c": 1}]}, {"a": 1, "b": 1, "c": 1}) == 3
    facts = [boolean("a"), boolean("b"), boolean("c")]
    overlapping = Any((OneOf("a", (True,)), OneOf("b", (True,)), OneOf("c", (False,), negated=True)))
    twice = All((overlapping, overlapping))
    assert matched(facts, {"twice": twice}, {"a": True, "b": True, "c": True}) == {"twice"}


def test_attributes_with_equal_hashes_are_told_apart() -> None:
    assert raw_library.firings({"area_tab_bump_tab": 1}, {"length_coat_rib_cure": 1}) == 1
    facts = [boolean("area_tab_bump_tab"), boolean("length_coat_rib_cure")]
    conditions = {fact.name: OneOf(fact.name, (True,)) for fact in facts}
    values = {"area_tab_bump_tab": False, "length_coat_rib_cure": True}
    assert matched(facts, conditions, values) == {"length_coat_rib_cure"}


@pytest.mark.parametrize("name", ["sid", "id", "kind", "$s", "s", "exception", "$forward", "start", "all"])
def test_facts_may_have_names_that_mean_something_to_the_library(name: str) -> None:
    conditions = {"yes": OneOf(name, (True,)), "no": OneOf(name, (False,))}
    assert matched([boolean(name)], conditions, {name: True}) == {"yes"}


def test_states_with_equal_hashes_are_one_to_the_library_and_never_live_together_here() -> None:
    host = raw_library.host_of([], [])
    raw_library.start(host, "40189")
    with pytest.raises(library.MessageObservedException):
        raw_library.start(host, "797186")
    host.delete_state(raw_library.RULESET, "40189")
    engine = DurableEngine(pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))]))
    live: list[str] = []
    for _ in range(3):
        with engine.evaluation():
            live.append(engine._state)
            engine._host.get_facts("pack", live[-1])
        with pytest.raises(library.durable_rules_engine.error, match="309"):
            engine._host.get_facts("pack", live[-1])
    assert len(set(live)) == 3


def test_a_derived_fact_is_settled_before_its_absence_is_read() -> None:
    derived = boolean("sealed", origin=Origin.RULES, default=False)
    pack = pack_of(
        [boolean("wet"), derived],
        [
            rule("seals", OneOf("wet", (False,)), conclude={"sealed": True}),
            rule("is-open", OneOf("sealed", (True,), negated=True)),
        ],
    )
    assert pack.layers == (("seals",), ("is-open",))
    engine = DurableEngine(pack)
    for sealed in (True, False):
        with engine.evaluation() as match_layer:
            match_layer(0, {"wet": not sealed, "sealed": False})
            assert match_layer(1, {"wet": not sealed, "sealed": sealed}) == (set() if sealed else {"is-open"})
    engine.close()


def test_patterns_compare_attributes_of_their_own_kind_of_fact_with_whole_numbers_only() -> None:
    """No second pattern, no comparison of attributes, no not-exists: all of which the library gets wrong."""
    kinds = [group.kind for layer in grouped(_every_condition()) for group in layer]
    assert kinds == list(range(1, len(kinds) + 1))
    for layer in grouped(_every_condition()):
        for group in layer:
            for pattern in group.patterns.values():
                assert _first_test(pattern) == {KIND: group.kind}
                for operator, attribute, cell in single_tests(pattern):
                    assert operator in {"$eq", "$neq", "$lt", "$gte"}
                    assert type(cell) is int
                    assert attribute == KIND or attribute in group.reads


def _first_test(pattern: Expression) -> Expression:
    return pattern["$and"][0] if "$and" in pattern else pattern


def _every_condition() -> Pack:
    facts = [enumeration("kind", "a", "b", "c"), boolean("wet"), number("amount", 0.0, 9.0, 1.0, 2.0)]
    single = [
        OneOf("kind", ("a",)),
        OneOf("kind", ("a", "b"), negated=True),
        OneOf("wet", (True, False)),
        Within("amount", 1.0, 2.0),
        Within("amount", 1.0, 2.0, negated=True),
        All(()),
    ]
    conditions = [
        *single,
        All(tuple(single)),
        Any(tuple(single[:4])),
        All((Any(tuple(single[:3])), single[3])),
    ]
    return pack_of(facts, [rule(f"r{each}", condition) for each, condition in enumerate(conditions)])
