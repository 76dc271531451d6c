"""The smallest change of facts fires its rule, and no smaller one does."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import whole_packs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import boolean, enumeration, pack_of, rule
from tiny_pack import SMALL

from rules.conditions import All, Any, OneOf, Value
from rules.intake import complete
from rules.loading import load_files
from rules.pack import Decide, Disposition, Pack, Substrate
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
        if fact.name in now and fact.origin is Origin.SUBSTRATE:
            other_material |= fact.cell_of(now[fact.name]) != fact.cell_of(then[fact.name])
        elif fact.name in now and applies(fact, then):
            assumed = now[fact.name] if applies(fact, now) else fact.default
            count += assumed is None or fact.cell_of(assumed) != fact.cell_of(then[fact.name])
    return count + other_material


@few
@given(st.data())
def test_the_smallest_change_fires_the_rule_and_no_smaller_one_does(data: st.DataObject) -> None:
    pack = data.draw(whole_packs.whole_packs(max_rules=4))
    cells = list(whole_packs.every_cell(pack))
    substrate, facts = data.draw(st.sampled_from(cells))
    changes = Changes(pack)
    for name in pack.rules:
        change = changes.smallest(name, substrate, facts)
        firing = [other for _, other in cells if fires(pack, name, other)]
        assert (change is None) == (not firing)
        if change is not None:
            after = changed(pack, substrate.symbol, facts, change)
            assert fires(pack, name, after)
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


def test_one_fact_that_makes_others_inapplicable_is_a_smaller_change_than_two() -> None:
    only_a = OneOf("kind", ("a",))
    hanging = {"applies_when": only_a, "otherwise": False, "default": True}
    facts = [enumeration("kind", "a", "b"), boolean("wide", **hanging), boolean("deep", **hanging)]
    plain = All((OneOf("wide", (False,)), OneOf("deep", (False,))))
    rules = [
        rule("repairs", All(()), decide=Decide(Disposition.REPAIR, "invented")),
        rule("plain", plain, cautions=("dust",)),
        rule("wide-a", OneOf("wide", (True,)), cautions=("vapour",)),
    ]
    material = Substrate("XX", "invented", {})
    pack = replace(pack_of(facts, rules), substrates={"XX": material})
    now = {"kind": "a", "wide": True, "deep": True}
    expected = Change({"kind": "b", "wide": None, "deep": None})
    assert Changes(pack).smallest("plain", material, now) == expected
    elsewhere = {"kind": "b", "wide": False, "deep": False}
    back = Change({"kind": "a", "wide": True, "deep": True})
    assert Changes(pack).smallest("wide-a", material, elsewhere) == back


def test_a_fact_that_must_then_be_stated_counts() -> None:
    hanging = {"applies_when": OneOf("kind", ("a",)), "otherwise": False}
    facts = [enumeration("tone", "light", "dark"), enumeration("kind", "a", "b"), boolean("wide", **hanging)]
    either = Any((OneOf("tone", ("dark",)), OneOf("kind", ("a",))))
    decide = Decide(Disposition.REPAIR, "invented")
    rules = [rule("repairs", All(()), decide=decide), rule("either", either, cautions=("dust",))]
    material = Substrate("XX", "invented", {})
    pack = replace(pack_of(facts, rules), substrates={"XX": material})
    now = {"tone": "light", "kind": "b", "wide": False}
    assert Changes(pack).smallest("either", material, now) == Change({"tone": "dark"})


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
        asked = [threads.submit(changes.smallest, name, substrate, facts) for name in [*pack.rules] * 40]
        answers = [each.result() for each in asked]
    assert answers == [Changes(pack).smallest(name, substrate, facts) for name in pack.rules] * 40
