"""The proof finds an assertion broken exactly where some answer of the reference breaks it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from math import inf

import strategies
import whole_packs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planning.order import dependencies
from rules.assertions.model import Assertion, Bounds, Carry, NothingBetween, Pattern
from rules.conditions import Value
from rules.decision import Decision
from rules.pack import Disposition, Pack, Stage
from rules.places import Place
from rules.predicates import holds
from rules.proof.proving import prove

few = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
HERE = Place("assertions.yaml", 1, 1, "invented")
STAGES = ("clean", "mask", "prime", "dry")


def pack_with_order(pack: Pack) -> Pack:
    """`mask` is free to come anywhere before `dry`; `dry` uses `paint`."""
    stages = {
        **pack.stages,
        "mask": whole_packs.stage("mask", cautions=("dust",)),
        "dry": whole_packs.stage("dry", "prime", "mask", materials=("paint",)),
    }
    rules = [
        replace(rule, require=(*rule.require, extra))
        for rule, extra in zip(pack.rules.values(), ("mask", "dry", "mask", "dry"), strict=False)
        if rule.decide is None
    ]
    return replace(pack, stages=stages, rules=pack.rules | {rule.id: rule for rule in rules})


def sublists(of: tuple[str, ...], most: int = 2) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(of), max_size=most, unique=True).map(tuple)


bounds = st.sampled_from([Bounds(1.5), Bounds(None, 1.0), Bounds(30.0), Bounds(None, 15.0), 2.0, 80.0, None])
answers = st.builds(
    Pattern,
    dispositions=st.sampled_from([(), (Disposition.REPAIR,), (Disposition.REFER, Disposition.REPAIR)]),
    reasons=sublists(("r0", "r1", "repairs", "withdrawn"), 1),
    present=sublists(STAGES, 1),
    any_of=sublists(STAGES),
    absent=sublists(STAGES, 1),
    cautions=sublists(whole_packs.CAUTIONS, 1),
    no_stages=st.sampled_from([False, False, False, True]),
)
claims = st.builds(
    lambda answer, parameters, order, between, carry: replace(
        answer, parameters=parameters, order=order, nothing_between=between, carry=carry
    ),
    st.just(Pattern()) | answers,
    st.dictionaries(
        st.sampled_from([("prime", "coats"), ("prime", "limit_c"), ("prime", "wait_min")]), bounds, max_size=1
    ),
    st.permutations(STAGES).map(lambda stages: tuple(stages[:3])) | st.just(()),
    st.none() | st.builds(NothingBetween, sublists(STAGES), sublists(STAGES), sublists(STAGES)),
    st.none() | st.builds(Carry, sublists(STAGES), sublists(("paint",)), sublists(whole_packs.CAUTIONS)),
)


@st.composite
def assertions(draw: st.DrawFn, pack: Pack) -> Assertion:
    always, never = draw(st.tuples(st.none() | claims, st.none() | answers).filter(any))
    when = strategies.conditions([*pack.vocabulary])
    return Assertion("invented", draw(when), draw(answers), always, never, "Invented.", "invented", HERE)


def looks_like(pattern: Pattern, pack: Pack, facts: Mapping[str, Value], decision: Decision) -> bool:
    stages = set(decision.stages)
    cautions = {*decision.cautions, *(name for stage in stages for name in pack.stages[stage].cautions)}
    earlier = dependencies(pack.stages, stages)
    return (
        (not pattern.dispositions or decision.disposition in pattern.dispositions)
        and {reason.rule for reason in decision.reasons}.issuperset(pattern.reasons)
        and stages.issuperset(pattern.present)
        and (not pattern.any_of or not stages.isdisjoint(pattern.any_of))
        and stages.isdisjoint(pattern.absent)
        and cautions.issuperset(pattern.cautions)
        and (not pattern.no_stages or not stages)
        and all(
            stage not in stages
            or (
                is_left_alone(pack, decision, stage, parameter)
                if wanted is None
                else lies_in(wanted, value_of(pack, facts, decision, stage, parameter))
            )
            for (stage, parameter), wanted in pattern.parameters.items()
        )
        and all(
            first in earlier[last]
            for first, last in combinations(pattern.order, 2)
            if {first, last} <= stages
        )
        and not (pattern.nothing_between and something_between(pattern.nothing_between, earlier))
        and (not pattern.carry or all(carries(pattern.carry, pack.stages[name]) for name in stages))
    )


def carries(rule: Carry, stage: Stage) -> bool:
    meant = stage.id in rule.stages or bool({*rule.users_of} & {*stage.materials})
    return not meant or {*rule.cautions} <= {*stage.cautions}


def value_of(
    pack: Pack, facts: Mapping[str, Value], decision: Decision, stage: str, parameter: str
) -> Value | None:
    catalogue = {"limit_c": facts["limit"], "wait_min": pack.stages[stage].wait.minutes}
    setting = decision.settings.get((stage, parameter))
    return setting.value if setting else (pack.stages[stage].parameters | catalogue)[parameter]


def is_left_alone(pack: Pack, decision: Decision, stage: str, parameter: str) -> bool:
    return (stage, parameter) not in decision.settings and parameter not in pack.stages[stage].from_substrate


def lies_in(wanted: Value | Bounds, value: Value | None) -> bool:
    if not isinstance(wanted, Bounds):
        return wanted == value
    low = -inf if wanted.at_least is None else wanted.at_least
    high = inf if wanted.at_most is None else wanted.at_most
    return low <= float(value or 0.0) <= high


def something_between(rule: NothingBetween, earlier: Mapping[str, frozenset[str]]) -> bool:
    """Whether in some order that `after` allows, a stage lies where it must not."""
    return any(
        {first, stage, last} <= earlier.keys()
        and len({first, stage, last}) == 3
        and last not in earlier[first] | earlier[stage]
        and stage not in earlier[first]
        for first in rule.after
        for last in rule.before
        for stage in rule.stages
    )


@few
@given(st.data())
def test_an_assertion_is_broken_where_an_answer_of_the_reference_breaks_it(data: st.DataObject) -> None:
    pack = pack_with_order(data.draw(whole_packs.whole_packs()))
    each = data.draw(assertions(pack))
    found = [
        fault for fault in prove(pack, [each], lambda span, settings: None).faults if fault.code == "R609"
    ]
    breaking = [facts for _, facts in whole_packs.every_cell(pack) if breaks(each, pack, facts)]
    assert bool(found) == bool(breaking)
    for fault in found:
        assert fault.witness is not None
        facts = whole_packs.completed(pack, fault.witness.material, fault.witness.facts)
        assert breaks(each, pack, facts)


def breaks(each: Assertion, pack: Pack, facts: Mapping[str, Value]) -> bool:
    decision = whole_packs.decided(pack, facts)
    if decision is None or not holds(each.when, {**facts, **decision.derived}):
        return False
    if not looks_like(each.where, pack, facts, decision):
        return False
    kept = each.always is None or looks_like(each.always, pack, facts, decision)
    return not kept or (each.never is not None and looks_like(each.never, pack, facts, decision))
