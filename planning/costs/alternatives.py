"""The two ways to a sound part, each with its lines: the repair, and a new part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from planning.costs.items import Priced, fitting_priced, labour_priced, lump, materials_priced, total
from planning.costs.model import Alternative, CostItem, ItemKind, Rates
from planning.model import Procedure
from planning.rounding import tenth, tenth_up
from planning.timing.model import Quantiles

FITTING_OF_A_NEW_PART = "fitting of the replacement part"
_FITTING_OF_A_REPAIR = "taking the part off and fitting it again, where the repair needs it"
_MINUTES_A_DAY = 1440.0


def stages_priced(procedure: Procedure, rates: Rates) -> Priced:
    """Labour and materials of the stages."""
    labour = labour_priced(procedure.totals.labour_hours, rates)
    return labour + materials_priced(procedure.materials, rates, procedure.pick_list)


def repair_of(procedure: Procedure, stages: Priced, rates: Rates, sensors: Iterable[str]) -> Alternative:
    """The repair that `procedure` describes, with its priced stages and the sensors that sit at the part."""
    priced = stages + fitting_priced(rates.repair_fit_hours, rates, _FITTING_OF_A_REPAIR)
    gaps = tuple(
        f"sensor calibration ({sensor}), where the vehicle's maker asks for it after a repair"
        for sensor in sensors
    )
    elapsed_min = _elapsed(procedure, rates.repair_fit_hours, 0)
    return _alternative(procedure, priced.items, (*priced.gaps, *gaps), elapsed_min, rates)


def replacement_of(
    procedure: Procedure, stages: Priced, rates: Rates, sensors: Iterable[str], supplied_as: str | None = None
) -> Alternative:
    """A new part that is prepared and painted as `procedure` says, with its priced stages, and fitted."""
    priced = _bought(rates) + fitting_priced(rates.replacement_fit_hours, rates, FITTING_OF_A_NEW_PART)
    priced += stages
    for sensor in sensors:
        priced += _calibration(sensor, rates)
    elapsed_min = _elapsed(procedure, rates.replacement_fit_hours, rates.replacement_lead_days or 0)
    return _alternative(procedure, priced.items, priced.gaps, elapsed_min, rates, supplied_as)


def _alternative(
    procedure: Procedure,
    items: Sequence[CostItem],
    gaps: Sequence[str],
    elapsed_min: Quantiles,
    rates: Rates,
    supplied_as: str | None = None,
) -> Alternative:
    return Alternative(
        items=tuple(items),
        total=total(items, rates.currency),
        elapsed_min=elapsed_min,
        stages=tuple(stage.stage for stage in procedure.stages),
        not_included=tuple(gaps),
        supplied_as=supplied_as,
    )


def _bought(rates: Rates) -> Priced:
    """The part, and what it costs to get rid of the old one."""
    if rates.replacement_part is None:
        return Priced(gaps=("the replacement part",))
    items = [lump(ItemKind.PART, "replacement part", rates.replacement_part, rates.currency)]
    if rates.replacement_disposal is not None:
        items.append(lump(ItemKind.DISPOSAL, "old part", rates.replacement_disposal, rates.currency))
    return Priced(tuple(items))


def _calibration(sensor: str, rates: Rates) -> Priced:
    price = rates.sensor_calibration.get(sensor)
    if price is None:
        return Priced(gaps=(f"sensor calibration ({sensor}): no price",))
    return Priced((lump(ItemKind.CALIBRATION, sensor, price, rates.currency),))


def _elapsed(procedure: Procedure, fit_hours: Mapping[str, float] | None, lead_days: int) -> Quantiles:
    """From order to fitted part: lead time, the stages, then fitting, which takes the hours given."""
    beside_min = lead_days * _MINUTES_A_DAY + 60 * sum(map(tenth_up, (fit_hours or {}).values()))
    stages_min = procedure.totals.elapsed_min
    return Quantiles(*(tenth(each + beside_min) for each in (stages_min.p50, stages_min.p80, stages_min.p95)))
