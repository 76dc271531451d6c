"""The smallest change of facts fires its rule, and no smaller one does."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor

import whole_packs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tiny_pack import SMALL

from rules.conditions import Value
from rules.intake import complete
from rules.loading import load_files
from rules.pack import Pack
from rules.proof.change import Change, Changes
from rules.proof.witness import applies
from rules.vocabulary import Origin

few = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def stated(pack: Pack, facts: Mapping[str, Value]) -> dict[str, Value]:
    """What a line item states to come to these facts."""
    given_facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    return {fact.name: facts[fact.name] for fact in given_facts if applies(fact, facts)}


def changed(pack: Pack, material: str, facts: Mapping[str, Value], change: Change) -> Mapping[str, Value]:
    """The complete facts after a change of what was stated."""
    told = {**stated(pack, facts), **change.facts}
    left = {name: value for name, value in told.items() if value is not None}
    return whole_packs.completed(pack, change.material or material, left)


def stated_otherwise(pack: Pack, now: Mapping[str, Value], then: Mapping[str, Value]) -> int:
    """How many facts must be stated that were not, or otherwise; the material counts as one of them."""
    count, other_material = 0, False
    for fact in pack.vocabulary:
        if fact.name not in now or fact.cell_of(now[fact.name]) == fact.cell_of(then[fact.name]):
            continue
        if fact.origin is Origin.SUBSTRATE:
            other_material = True
        elif applies(fact, then):
            assumed = not applies(fact, now) and fact.default is not None
            count += not (assumed and fact.cell_of(fact.default) == fact.cell_of(then[fact.name]))
    return count + other_material


@few
@given(st.data())
def test_the_smallest_change_fires_the_rule_and_no_smaller_one_does(data: st.DataObject) -> None:
    pack = data.draw(whole_packs.whole_packs(max_rules=4))
    cells = list(whole_packs.every_cell(pack))
    substrate, facts = data.draw(st.sampled_from(cells))
    changes = Changes(pack)
    for rule in pack.rules:
        change = changes.smallest(rule, substrate, facts)
        firing = [other for _, other in cells if fires(pack, rule, other)]
        assert (change is None) == (not firing)
        if change is not None:
            after = changed(pack, substrate.symbol, facts, change)
            assert fires(pack, rule, after)
            least = min(stated_otherwise(pack, facts, other) for other in firing)
            assert stated_otherwise(pack, facts, after) == least


def fires(pack: Pack, rule: str, facts: Mapping[str, Value]) -> bool:
    decision = whole_packs.decided(pack, facts)
    return decision is not None and rule in decision.fired


def test_a_change_states_what_applies_only_now_and_leaves_out_what_no_longer_does() -> None:
    pack = load_files([SMALL])
    substrate = pack.substrates["PP"]
    changes = Changes(pack)
    scratched = complete(pack, substrate, {"damage_type": "scratch", "radar_zone": True}).values
    change = changes.smallest("replace-long-cracks", substrate, scratched)
    assert change == Change({"damage_type": "crack", "radar_zone": False, "damage_length_mm": 300.0})


def test_another_material_is_proposed_only_where_no_other_fact_helps() -> None:
    pack = load_files([SMALL])
    substrate = pack.substrates["ABS"]
    facts = complete(pack, substrate, {"damage_type": "scratch"}).values
    assert Changes(pack).smallest("promote", substrate, facts) == Change({}, "PP")
    assert Changes(pack).smallest("refer-radar", substrate, facts) == Change({"radar_zone": True})
    assert Changes(pack).smallest("prepare", substrate, facts) == Change({})


def test_many_threads_may_ask_at_once() -> None:
    pack = load_files([SMALL])
    substrate = pack.substrates["PP"]
    facts = complete(pack, substrate, {"damage_type": "scratch"}).values
    changes = Changes(pack)
    with ThreadPoolExecutor(8) as threads:
        asked = [threads.submit(changes.smallest, rule, substrate, facts) for rule in [*pack.rules] * 40]
        answers = [each.result() for each in asked]
    assert answers == [Changes(pack).smallest(rule, substrate, facts) for rule in pack.rules] * 40
