"""How two alternatives compare: what they cost as distributions, and how likely which is the cheaper one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from planning.costs.items import total
from planning.costs.model import Alternative, ItemKind, MoneyQuantiles
from planning.costs.money import rounded
from planning.timing.durations import LEVELS
from planning.timing.sampling import Samples

_BY_TIME = (ItemKind.LABOUR, ItemKind.FITTING)


@dataclass(frozen=True)
class Comparison:
    """Both alternatives with what they are expected to cost, and the figures that policies look at.

    All are rounded as they are shown: the probability to hundredths, per cent to tenths.
    """

    repair: Alternative
    replacement: Alternative
    probability_repair_cheaper: float
    saving: Decimal
    saving_pct: float
    threshold_part_price: Decimal | None


def compared(
    repair: Alternative,
    replacement: Alternative,
    labour: tuple[Samples, Samples],
    part_price: Decimal,
    currency: str,
) -> Comparison:
    """`labour` is money for the time of each alternative, job by sampled job, in the same order.

    The saving is the difference of the medians. Every unit that the part costs more makes it a unit larger,
    so the threshold is the price less the saving.
    """
    repair_p, replacement_p = (
        _expected(alternative, samples, currency)
        for alternative, samples in zip((repair, replacement), labour, strict=True)
    )
    saving = replacement_p.p50 - repair_p.p50
    threshold = rounded(part_price, currency) - saving
    # The labour of the repair may exceed that of the replacement by this much.
    margin = float(_fixed(replacement, currency) - _fixed(repair, currency))
    return Comparison(
        repair=replace(repair, expected=repair_p),
        replacement=replace(replacement, expected=replacement_p),
        probability_repair_cheaper=round(float(np.mean(labour[0] - labour[1] < margin)), 2),
        saving=saving,
        saving_pct=_per_cent(saving, replacement_p.p50),
        threshold_part_price=threshold if threshold >= 0 else None,
    )


def _expected(alternative: Alternative, labour: Samples, currency: str) -> MoneyQuantiles:
    fixed = _fixed(alternative, currency)
    quantiles = np.quantile(labour, LEVELS).tolist()
    return MoneyQuantiles(*(rounded(Decimal(str(value)) + fixed, currency) for value in quantiles))


def _fixed(alternative: Alternative, currency: str) -> Decimal:
    """What does not hang on time."""
    return total((item for item in alternative.items if item.kind not in _BY_TIME), currency)


def _per_cent(saving: Decimal, of: Decimal) -> float:
    return round(float(100 * saving / of), 1) if of else 0.0
