"""What a procedure costs at the rates of the shop, before it is weighed against a new part."""

from __future__ import annotations

from decimal import Decimal

from planning.costs.alternatives import FITTING_OF_A_NEW_PART, repair_of, replacement_of, stages_priced
from planning.costs.items import total
from planning.costs.model import Advice, Cost, CostItem, ItemKind, Rates
from planning.costs.money import rounding
from planning.costs.new_part import CONDITION, NEW_PART, SENSORS
from planning.model import Procedure
from rules.pack import Disposition
from rules.predicates import Facts


def costed(procedure: Procedure, facts: Facts, rates: Rates) -> Cost:
    """Labour and materials of the procedure; of the two alternatives, the one that it describes."""
    priced = stages_priced(procedure, rates)
    labour = {item.what: item.amount for item in priced.items if item.kind is ItemKind.LABOUR}
    unfitted = rates.replacement_part is not None and rates.replacement_fit_hours is None
    sensors = sensors_at(facts)
    return Cost(
        currency=rates.currency,
        labour=labour,
        labour_total=_total_of(priced.items, ItemKind.LABOUR, rates),
        replacement_part=rates.replacement_part,
        replacement_lead_days=rates.replacement_lead_days,
        not_included=(*priced.gaps, *([FITTING_OF_A_NEW_PART] if unfitted else [])),
        items=priced.items,
        materials_total=_total_of(priced.items, ItemKind.MATERIAL, rates),
        total=total(priced.items, rates.currency),
        rounding=rounding(rates.currency),
        repair=repair_of(procedure, priced, rates, sensors) if is_repair(procedure, facts) else None,
        replacement=(
            replacement_of(procedure, priced, rates, sensors)
            if procedure.disposition is Disposition.REPLACE
            else None
        ),
        advice=Advice(*_without_weighing(procedure, facts, rates)),
    )


def sensors_at(facts: Facts) -> tuple[str, ...]:
    """The sensors that sit at the part."""
    return tuple(sensor for sensor in SENSORS if facts.get(sensor) is True)


def is_repair(procedure: Procedure, facts: Facts) -> bool:
    """Whether the rules let the part be repaired, and it is not a new one that is only painted."""
    return procedure.disposition is Disposition.REPAIR and facts.get(CONDITION) != NEW_PART


def _without_weighing(
    procedure: Procedure, facts: Facts, rates: Rates
) -> tuple[Disposition | None, tuple[str, ...]]:
    """What is advised where repair and replacement are not weighed, and why."""
    decided = " ".join(reason.text for reason in procedure.reasons)
    if procedure.disposition is Disposition.REFER:
        return None, (f"The rules refer the part, so no price decides. {decided}",)
    if procedure.disposition is Disposition.REPLACE:
        return Disposition.REPLACE, (f"The rules replace the part, so no price decides. {decided}",)
    if not is_repair(procedure, facts):
        return None, ("The part is a new one; there is nothing to weigh it against.",)
    if rates.replacement_part is None:
        return None, ("The price of a new part is not given.",)
    return None, ("The pack does not say what is done with a new part.",)


def _total_of(items: tuple[CostItem, ...], kind: ItemKind, rates: Rates) -> Decimal:
    return total((item for item in items if item.kind is kind), rates.currency)
