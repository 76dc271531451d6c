"""Coverage by condition: seen is what decided alone; what nothing can show is not asked for."""

from __future__ import annotations

from furnished_packs import every_cell, furnished
from hypothesis import HealthCheck, given, settings
from strategies import boolean, pack_of, packs, rule

from rules.authoring.coverage import Coverage, Point, coverage_of
from rules.authoring.exercised import Exercised, exercised
from rules.cases.model import Case, Expected
from rules.conditions import All, Any, OneOf, facts_read
from rules.decider import Decider
from rules.decision import PackFault
from rules.engines.reference import ReferenceEngine
from rules.pack import Decide, Disposition, Pack
from rules.predicates import holds

A, B, C = (OneOf(name, (True,)) for name in ("a", "b", "c"))
FACTS = [boolean(name, default=False) for name in ("a", "b", "c")]
ALWAYS = rule("always", All(()), decide=Decide(Disposition.REPAIR, "invented"))


def pack_with(condition: All) -> Pack:
    return furnished(pack_of(FACTS, [ALWAYS, rule("tried", condition, cautions=("dust",))]))


def covered(pack: Pack, *cases: str) -> Coverage:
    """The coverage by cases that each name the facts which are true."""
    listed = [Case("invented", "PP", {name: name in true for name in "abc"}, Expected()) for true in cases]
    return coverage_of(pack, exercised(pack, listed, Decider(pack, ReferenceEngine(pack))))


def shown(points: tuple[Point, ...]) -> set[str]:
    return {f"{point.test.fact} {point.truth}" for point in points if point.test}


def test_a_test_is_seen_only_where_the_rest_of_the_condition_holds() -> None:
    pack = pack_with(All((A, B)))
    assert shown(covered(pack, "ab").seen) == {"a True", "b True"}
    assert shown(covered(pack, "a").seen) == {"b False"}
    assert shown(covered(pack, "").seen) == set()
    assert covered(pack, "ab", "a", "b").unseen == ()


def test_an_alternative_is_seen_only_where_no_other_one_holds() -> None:
    pack = pack_with(All((Any((All((A,)), All((B,)))), C)))
    assert shown(covered(pack, "abc").seen) == {"c True"}
    assert shown(covered(pack, "ac").seen) == {"a True", "c True"}
    assert shown(covered(pack, "c").seen) == {"a False", "b False"}
    assert covered(pack, "ac", "bc", "c", "a").unseen == ()


def test_what_no_facts_can_show_is_not_counted() -> None:
    pack = pack_with(All((A, Any((All((A,)), All((B,)))))))
    found = covered(pack, "a", "ab", "b", "")
    assert shown(found.seen) | shown(found.unseen) == {"a True", "a False"}


def test_the_percentage_counts_points() -> None:
    pack = pack_with(All((A, B)))
    found = covered(pack, "ab")
    assert len(found.seen) + len(found.unseen) == 5  # Two tests, both ways, and the rule that always fires.
    assert found.percentage == 60
    assert covered(pack).percentage == 0


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(packs(max_rules=5))
def test_cases_in_every_cell_show_all_there_is_to_see_and_no_more(pack: Pack) -> None:
    pack = furnished(pack)
    decider, row = Decider(pack, ReferenceEngine(pack)), pack.substrates["PP"]
    every = []
    for facts in every_cell(pack):
        try:
            derived = decider.decide(facts).derived
        except PackFault:
            return  # Rules that disagree on a derived fact leave it without a value.
        every.append(Exercised(Case("invented", "PP", facts, Expected()), row, {**facts, **derived}))
    found = coverage_of(pack, every)
    assert found.unseen == ()
    for point in found.seen:
        if point.test:
            fires = [holds(pack.rules[point.rule].when, each.facts) for each in every]
            assert any(fires) or not point.truth
            assert not all(fires) or point.truth
    assert {point.rule for point in found.seen if not point.test} == {
        each.id for each in pack.rules.values() if not facts_read(each.when)
    }
