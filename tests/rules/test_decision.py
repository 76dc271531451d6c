"""What the rules that fired add up to."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import pytest
import strategies
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import pack_of, rule

from rules.conditions import All, Value
from rules.decision import Decision, PackFault, Reason, Setting, conclusions, decision_from
from rules.pack import Decide, Disposition, Pack, Rule

ALWAYS = All(())
REPAIR = Decide(Disposition.REPAIR, "It can be made good.")
REPLACE = Decide(Disposition.REPLACE, "Too much is broken.")
REFER = Decide(Disposition.REFER, "The maker's procedure prevails.")
COATS = ("prime", "coats")


def decided(*rules: Rule, derived: dict[str, Value] | None = None) -> Decision:
    """The decision when all these rules fired."""
    return decision_from(pack_of([], rules), [each.id for each in rules], derived or {})


def fault_of(*rules: Rule) -> PackFault:
    with pytest.raises(PackFault) as raised:
        decided(*rules)
    return raised.value


def test_effects_add_up_and_name_the_rules_behind_them() -> None:
    decision = decided(
        rule("b", ALWAYS, require=("prime", "clean"), cautions=("dust",), decide=REPAIR),
        rule("a", ALWAYS, require=("clean",), settings={COATS: 2.0}, cautions=("vapour", "dust")),
        rule("c", ALWAYS, settings={COATS: 2.0, ("clean", "passes"): 1.0}),
        derived={"sealed": True, "level": "low"},
    )
    assert decision == Decision(
        disposition=Disposition.REPAIR,
        reasons=(Reason("b", "It can be made good."),),
        derived={"level": "low", "sealed": True},
        stages={"clean": ("a", "b"), "prime": ("b",)},
        settings={("clean", "passes"): Setting(1.0, ("c",)), COATS: Setting(2.0, ("a", "c"))},
        cautions={"dust": ("a", "b"), "vapour": ("a",)},
        fired=("a", "b", "c"),
    )


def test_everything_is_in_the_order_of_names() -> None:
    decision = decided(
        rule("z", ALWAYS, require=("wash", "clean"), cautions=("vapour", "dust"), decide=REPAIR),
        rule("y", ALWAYS, settings={("wash", "passes"): 1.0, ("clean", "passes"): 1.0}),
        derived={"b": True, "a": True},
    )
    assert list(decision.stages) == ["clean", "wash"]
    assert list(decision.settings) == [("clean", "passes"), ("wash", "passes")]
    assert list(decision.cautions) == ["dust", "vapour"]
    assert list(decision.derived) == ["a", "b"]


def test_rules_that_decide_alike_all_give_their_reasons() -> None:
    again = Decide(Disposition.REPAIR, "And it is cheap.")
    decision = decided(rule("b", ALWAYS, decide=REPAIR), rule("a", ALWAYS, decide=again))
    assert decision.reasons == (Reason("a", "And it is cheap."), Reason("b", "It can be made good."))


def test_a_replaced_part_may_have_stages_and_a_referred_one_may_not() -> None:
    paints = rule("paints", ALWAYS, require=("paint",))
    assert decided(rule("d", ALWAYS, decide=REPLACE), paints).stages == {"paint": ("paints",)}
    fault = fault_of(rule("d", ALWAYS, decide=REFER), paints)
    assert str(fault) == "a part that is referred has stages: paint"
    assert fault.rules == ("paints",)
    assert decided(rule("d", ALWAYS, decide=REFER)).disposition is Disposition.REFER


def test_no_disposition_is_a_fault() -> None:
    assert str(fault_of(rule("a", ALWAYS, require=("clean",)))) == "no rule decides a disposition"
    assert str(fault_of()) == "no rule decides a disposition"


@pytest.mark.parametrize(
    ("one", "other", "told"),
    [
        ({"decide": REFER}, {"decide": REPLACE}, "the disposition"),
        ({"settings": {COATS: 1.0}}, {"settings": {COATS: 2.0}}, "parameter 'prime.coats'"),
        ({"settings": {COATS: 1.0}}, {"settings": {COATS: True}}, "parameter 'prime.coats'"),
    ],
)
def test_rules_that_disagree_are_a_fault_that_names_them(
    one: dict[str, object], other: dict[str, object], told: str
) -> None:
    always = [] if "decide" in one else [rule("d", ALWAYS, decide=REPAIR)]
    fault = fault_of(*always, rule("b", ALWAYS, **one), rule("a", ALWAYS, **other))
    assert told in str(fault)
    assert fault.rules == ("a", "b")


def test_an_overridden_rule_gives_way() -> None:
    decision = decided(
        rule("general", ALWAYS, decide=REPAIR, settings={COATS: 1.0}, require=("clean",)),
        rule("special", ALWAYS, decide=REPLACE, settings={COATS: 3.0}, overrides=("general",)),
    )
    assert decision.disposition is Disposition.REPLACE
    assert decision.reasons == (Reason("special", REPLACE.reason),)
    assert decision.settings == {COATS: Setting(3.0, ("special",))}
    assert decision.stages == {"clean": ("general",)}
    assert decision.fired == ("general", "special")


def test_overriding_means_nothing_for_what_the_overriding_rule_does_not_set() -> None:
    decision = decided(
        rule("general", ALWAYS, decide=REPAIR, settings={COATS: 1.0}),
        rule("special", ALWAYS, decide=REPLACE, overrides=("general",)),
    )
    assert decision.settings == {COATS: Setting(1.0, ("general",))}


def test_an_overridden_rule_stands_while_the_other_does_not_fire() -> None:
    general = rule("general", ALWAYS, decide=REPAIR)
    special = rule("special", ALWAYS, decide=REPLACE, overrides=("general",))
    pack = pack_of([], [general, special])
    assert decision_from(pack, ["general"], {}).disposition is Disposition.REPAIR


def test_overriding_one_of_two_that_disagree_with_it_is_still_a_fault() -> None:
    fault = fault_of(
        rule("a", ALWAYS, decide=REPAIR),
        rule("b", ALWAYS, decide=REPAIR),
        rule("c", ALWAYS, decide=REPLACE, overrides=("a",)),
    )
    assert fault.rules == ("b", "c")


def test_rules_that_override_each_other_are_a_fault() -> None:
    fault = fault_of(
        rule("a", ALWAYS, decide=REPAIR, overrides=("b",)),
        rule("b", ALWAYS, decide=REPLACE, overrides=("a",)),
    )
    assert fault.rules == ("a", "b")


def test_conclusions_are_those_asked_for() -> None:
    rules = [
        rule("a", ALWAYS, conclude={"sealed": True, "level": "low"}),
        rule("b", ALWAYS, conclude={"sealed": True}),
    ]
    assert conclusions(rules, {"sealed"}) == {"sealed": True}
    assert conclusions(rules, {"sealed", "level", "other"}) == {"sealed": True, "level": "low"}
    assert conclusions([], {"sealed"}) == {}


def test_conclusions_that_disagree_are_a_fault_only_when_asked_for() -> None:
    rules = [rule("b", ALWAYS, conclude={"level": "low"}), rule("a", ALWAYS, conclude={"level": "high"})]
    assert conclusions(rules, {"sealed"}) == {}
    with pytest.raises(PackFault, match="fact 'level'") as raised:
        conclusions(rules, {"level"})
    assert raised.value.rules == ("a", "b")


def test_an_overridden_conclusion_gives_way() -> None:
    rules = [
        rule("a", ALWAYS, conclude={"level": "low"}),
        rule("b", ALWAYS, conclude={"level": "high"}, overrides=("a",)),
    ]
    assert conclusions(rules, {"level"}) == {"level": "high"}


def _outcome(pack: Pack, fired: Sequence[str]) -> Decision | tuple[str, tuple[str, ...]]:
    try:
        return decision_from(pack, fired, {})
    except PackFault as fault:
        return str(fault), fault.rules


@settings(max_examples=50, deadline=None)
@given(strategies.packs(), st.randoms(use_true_random=False))
def test_the_order_in_which_rules_fired_means_nothing(pack: Pack, random: Random) -> None:
    fired = [rule_id for rule_id in pack.rules if random.random() < 0.7]
    again = [*fired, *fired]
    random.shuffle(again)
    assert _outcome(pack, fired) == _outcome(pack, again)


@settings(max_examples=50, deadline=None)
@given(strategies.packs(), st.randoms(use_true_random=False))
def test_effects_only_add(pack: Pack, random: Random) -> None:
    """More rules fired: no stage and no caution goes away."""
    more = list(pack.rules)
    fewer = [rule_id for rule_id in more if random.random() < 0.7]
    less, whole = _outcome(pack, fewer), _outcome(pack, more)
    if isinstance(less, Decision) and isinstance(whole, Decision):
        assert less.stages.keys() <= whole.stages.keys()
        assert less.cautions.keys() <= whole.cautions.keys()
        assert less.settings.keys() <= whole.settings.keys()


def test_an_overridden_rule_that_agrees_keeps_its_part_in_the_answer() -> None:
    decision = decided(
        rule("base", ALWAYS, decide=REPAIR), rule("shop", ALWAYS, decide=REPAIR, overrides=("base",))
    )
    assert [reason.rule for reason in decision.reasons] == ["base", "shop"]
