"""The durable-rules adapter means what the reference means, and the cache changes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

import pytest
import strategies
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from large_packs import large_pack, random_facts

from rules.cache import DecisionCache
from rules.conditions import Value
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines import Engine
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack
from rules.vocabulary import Origin

DurableEngine = pytest.importorskip(
    "rules.engines.durable_adapter", reason="needs durable-rules"
).DurableEngine

few = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def outcome(decider: Decider, facts: Mapping[str, Value]) -> Decision | tuple[str, tuple[str, ...]]:
    """The decision, or the text and the rules of the fault."""
    try:
        return decider.decide(facts)
    except PackFault as fault:
        return str(fault), fault.rules


def fired_by_layer(engine: Engine, pack: Pack, facts: Mapping[str, Value]) -> list[frozenset[str]]:
    """What an engine matches in each layer when every derived fact keeps its default."""
    derived = {fact.name: fact.default for fact in pack.vocabulary if fact.default is not None}
    with engine.evaluation() as match_layer:
        return [match_layer(number, {**facts, **derived}) for number in range(len(pack.layers))]


@few
@given(st.data())
def test_durable_rules_and_the_reference_give_one_decision_or_one_fault(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    reference, engine = Decider(pack, ReferenceEngine(pack)), DurableEngine(pack)
    try:
        for facts in data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=6)):
            assert outcome(Decider(pack, engine), facts) == outcome(reference, facts)
            assert fired_by_layer(engine, pack, facts) == fired_by_layer(reference.engine, pack, facts)
    finally:
        engine.close()


@few
@given(st.data())
def test_the_cache_never_changes_an_answer(data: st.DataObject) -> None:
    cache = DecisionCache(size=data.draw(st.integers(0, 4)))
    packs = data.draw(st.lists(strategies.packs(max_rules=4), min_size=1, max_size=2))
    plain = [Decider(pack, ReferenceEngine(pack)) for pack in packs]
    cached = [Decider(pack, ReferenceEngine(pack), cache) for pack in packs]
    asked = [
        (number, facts)
        for number, pack in enumerate(packs)
        for facts in data.draw(st.lists(strategies.facts_for(pack), min_size=1, max_size=4))
    ]
    for number, facts in data.draw(st.permutations(asked + asked)):
        assert outcome(cached[number], facts) == outcome(plain[number], facts)
    assert cache.hits + cache.misses == 2 * len(asked)


@few
@given(st.data())
def test_facts_in_the_same_cells_get_the_same_decision(data: st.DataObject) -> None:
    pack = data.draw(strategies.packs())
    decider = Decider(pack, ReferenceEngine(pack))
    facts = data.draw(strategies.facts_for(pack))
    lowest = {
        name: pack.vocabulary[name].domain[pack.vocabulary[name].cell_of(facts[name])] for name in facts
    }
    assert outcome(decider, facts) == outcome(decider, lowest)


@pytest.mark.parametrize("seed", range(3))
def test_durable_rules_and_the_reference_agree_on_a_large_pack(seed: int) -> None:
    random = Random(seed)
    pack = large_pack(random, 200)
    engine = DurableEngine(pack)
    reference = ReferenceEngine(pack)
    assert len(pack.layers) == 3
    for _ in range(60):
        facts = random_facts(random)
        assert Decider(pack, engine).decide(facts) == Decider(pack, reference).decide(facts)
    engine.close()


def test_durable_rules_and_the_reference_agree_on_the_base_pack() -> None:
    """On facts of every kind, and not only on those that a line item can state together."""
    random = Random(7)
    pack = load_folder(BASE_PACK)
    engine = DurableEngine(pack)
    reference = Decider(pack, ReferenceEngine(pack))
    decisions = 0
    for _ in range(300):
        given = [fact for fact in pack.vocabulary if fact.origin is not Origin.RULES]
        facts = {fact.name: random.choice(fact.domain) for fact in given}
        answer = outcome(Decider(pack, engine), facts)
        assert answer == outcome(reference, facts)
        decisions += isinstance(answer, Decision)
    engine.close()
    assert decisions > 100
