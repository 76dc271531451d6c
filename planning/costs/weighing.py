"""A repair weighed against a new part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from planning.costs.advice import advice_on
from planning.costs.alternatives import replacement_of, stages_priced
from planning.costs.comparing import compared
from planning.costs.costing import is_repair, sensors_at
from planning.costs.model import Advice, Alternative, Cost, ItemKind, Rates
from planning.costs.new_part import SUPPLIED_AS, speaks_of_new_parts
from planning.costs.sampling import fitting_paid, labour_samples, stages_paid
from planning.learning.model import Learned
from planning.model import Procedure
from planning.timing.sampling import Samples
from rules.pack import Disposition, Pack
from rules.policies import Policy
from rules.predicates import Facts


@dataclass(frozen=True)
class NewPart:
    """A sound new part: its facts, and the procedure by which it is prepared and painted."""

    facts: Facts
    procedure: Procedure


def can_be_weighed(pack: Pack, procedure: Procedure, facts: Facts, rates: Rates | None) -> bool:
    """Whether it is worth deciding what is done with a new part."""
    priced = rates is not None and rates.replacement_part is not None
    return priced and is_repair(procedure, facts) and speaks_of_new_parts(pack)


def weighed(
    procedure: Procedure,
    facts: Facts,
    rates: Rates,
    new_part: NewPart,
    policies: Iterable[Policy],
    learned: Mapping[str, Learned] | None = None,
) -> Procedure:
    """The procedure with both alternatives and an advice. Its disposition stays what the rules decided.

    `procedure` has its cost; `facts` are all of its facts, derived ones too. One that is no repair, or
    has no price of a part beside it, stays as it is.
    """
    cost = procedure.cost
    if cost is None or cost.repair is None or rates.replacement_part is None:
        return procedure
    if new_part.procedure.disposition is not Disposition.REPAIR:
        told = " ".join(reason.text for reason in new_part.procedure.reasons)
        return not_weighed(procedure, f"The rules let no new part be painted. {told}")
    replacement = _replacement(new_part, facts, rates)
    unpaid = _without_rate(rates, procedure, new_part.procedure)
    if unpaid:
        told = f"Without a rate for {' and '.join(unpaid)} labour, repair and new part cannot be weighed."
        return not_weighed(replace(procedure, cost=replace(cost, replacement=replacement)), told)
    labour = _labour(procedure, new_part.procedure, rates, learned or {})
    comparison = compared(cost.repair, replacement, labour, rates.replacement_part, rates.currency)
    cost = replace(
        cost,
        repair=comparison.repair,
        replacement=comparison.replacement,
        advice=replace(advice_on(policies, facts, comparison), caveats=tuple(_caveats(cost, rates))),
    )
    return replace(procedure, cost=cost)


def not_weighed(procedure: Procedure, why: str) -> Procedure:
    """The procedure with an advice that advises nothing, and says why."""
    if procedure.cost is None:
        return procedure
    return replace(procedure, cost=replace(procedure.cost, advice=Advice(None, (why,))))


def _replacement(new_part: NewPart, facts: Facts, rates: Rates) -> Alternative:
    procedure = new_part.procedure
    supplied_as = str(new_part.facts[SUPPLIED_AS]) if SUPPLIED_AS in new_part.facts else None
    stages = stages_priced(procedure, rates)
    return replacement_of(procedure, stages, rates, sensors_at(facts), supplied_as)


def _caveats(cost: Cost, rates: Rates) -> Iterator[str]:
    """What makes the comparison lopsided, or leaves it open."""
    if rates.replacement_fit_hours is None:
        yield "The hours of fitting a new part are not given, so the replacement costs more than is reckoned."
    if rates.repair_fit_hours is None:
        yield "A part that has to come off to be repaired costs more than is reckoned."
    if any(item.kind is ItemKind.MATERIAL for item in cost.items):
        yield "Materials without a price are left out; both sides name theirs under what is not included."
    else:
        yield "No material is priced, so what the two take of them is not weighed."
    yield "A repair that fails, and damage that is found later, are not reckoned."


def _without_rate(rates: Rates, *procedures: Procedure) -> list[str]:
    """The labour categories that are needed and have no rate."""
    hours = [procedure.totals.labour_hours for procedure in procedures]
    hours += [rates.repair_fit_hours or {}, rates.replacement_fit_hours or {}]
    needed = dict.fromkeys(category for each in hours for category in each if each[category])
    return [category for category in needed if category not in rates.labour_per_hour]


def _labour(
    repair: Procedure, new_part: Procedure, rates: Rates, learned: Mapping[str, Learned]
) -> tuple[Samples, Samples]:
    """Money for the labour of the repair and of the replacement, fitting included, job by sampled job."""
    per_hour = rates.labour_per_hour
    return labour_samples(
        stages_paid(repair.stages, per_hour, learned) + fitting_paid(rates.repair_fit_hours, per_hour),
        stages_paid(new_part.stages, per_hour, learned) + fitting_paid(rates.replacement_fit_hours, per_hour),
    )
