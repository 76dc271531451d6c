"""What a procedure costs, what the shop charges, and what is advised."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum

from planning.timing.model import Quantiles
from rules.pack import Disposition


class Per(Enum):
    """What a price of a material is for."""

    LITRE = "litre"
    METRE = "metre"
    PIECE = "piece"
    PACKAGE = "package"


@dataclass(frozen=True)
class MaterialPrice:
    """Money for one of something; `package_ml` is what a package holds, None where the pack knows it."""

    price: Decimal
    per: Per
    package_ml: int | None = None


class Charged(Enum):
    """Whether whole packages are paid for, or only what is taken from them."""

    BOUGHT = "bought"
    USED = "used"


@dataclass(frozen=True)
class Rates:
    """What the shop charges, in one currency; what is not given is None or not there.

    `labour_per_hour` is by labour category, `materials` by material or component. Hours of fitting are by
    category: for a new part, taking the old one off and fitting the new one; for a repair, taking the part
    off and fitting it again. `sensor_calibration` is by feature of the part, such as `radar_zone`.
    """

    currency: str
    labour_per_hour: Mapping[str, Decimal]
    replacement_part: Decimal | None = None
    replacement_lead_days: int | None = None
    replacement_fit_hours: Mapping[str, float] | None = None
    replacement_supplied_as: str | None = None
    replacement_disposal: Decimal | None = None
    repair_fit_hours: Mapping[str, float] | None = None
    sensor_calibration: Mapping[str, Decimal] = field(default_factory=dict)
    materials: Mapping[str, MaterialPrice] = field(default_factory=dict)
    materials_charged: Charged = Charged.BOUGHT


class ItemKind(Enum):
    """What money goes into."""

    LABOUR = "labour"
    MATERIAL = "material"
    FITTING = "fitting"
    PART = "part"
    CALIBRATION = "calibration"
    DISPOSAL = "disposal"


@dataclass(frozen=True)
class CostItem:
    """One line: quantity x price, rounded. `what` is a labour category, a material or a feature."""

    kind: ItemKind
    what: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal


@dataclass(frozen=True)
class MoneyQuantiles:
    """The median cost, and what 80 % and 95 % of jobs stay under."""

    p50: Decimal
    p80: Decimal
    p95: Decimal


@dataclass(frozen=True)
class Alternative:
    """One way to a sound part. `total` adds the amounts of `items`.

    `expected` is what such jobs cost at the minutes that they take, labour not rounded up to tenths of an
    hour; None where nothing is weighed. `elapsed_min` is from order to fitted part, lead time at 24 hours a
    day included. `supplied_as` says how a new part comes; None for a repair.
    """

    items: tuple[CostItem, ...]
    total: Decimal
    elapsed_min: Quantiles
    stages: tuple[str, ...]
    not_included: tuple[str, ...]
    expected: MoneyQuantiles | None = None
    supplied_as: str | None = None


@dataclass(frozen=True)
class PolicySaid:
    """A policy that speaks of the line item: whether the repair meets it, and what was found."""

    policy: str
    met: bool
    found: tuple[str, ...]
    why: str
    source: str


@dataclass(frozen=True)
class Advice:
    """What is advised, REPAIR or REPLACE; None where nothing is. `because` says why, in sentences, and
    `caveats` what was left out of account.

    `saving` is what the repair costs less at the median, `saving_pct` the same in per cent of the
    replacement. `threshold_part_price` is the price of the new part at which both cost the same at the
    median; None where the repair costs less even with a part for nothing.
    """

    advised: Disposition | None
    because: tuple[str, ...]
    probability_repair_cheaper: float | None = None
    saving: Decimal | None = None
    saving_pct: float | None = None
    threshold_part_price: Decimal | None = None
    policies: tuple[PolicySaid, ...] = ()
    caveats: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cost:
    """What the stages of the procedure cost at the given rates, and what stands against it.

    `labour` is by category; `items` are labour and materials, and `total` adds them. `replacement_part` and
    `replacement_lead_days` are as given.
    """

    currency: str
    labour: Mapping[str, Decimal]
    labour_total: Decimal
    replacement_part: Decimal | None
    replacement_lead_days: int | None
    not_included: tuple[str, ...]
    items: tuple[CostItem, ...]
    materials_total: Decimal
    total: Decimal
    rounding: str
    repair: Alternative | None
    replacement: Alternative | None
    advice: Advice
