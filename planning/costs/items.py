"""The lines of an estimate: labour, fitting and materials, each with its price."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from planning.costs.model import CostItem, ItemKind, Rates
from planning.costs.money import rounded
from planning.costs.supplies import Supply, supplies
from planning.materials.model import MaterialNeed, PickLine
from planning.rounding import tenth_up


@dataclass(frozen=True)
class Priced:
    """Lines with their price, and in words what has none."""

    items: tuple[CostItem, ...] = ()
    gaps: tuple[str, ...] = ()

    def __add__(self, other: Priced) -> Priced:
        return Priced(self.items + other.items, self.gaps + other.gaps)


def total(items: Iterable[CostItem], currency: str) -> Decimal:
    """The sum of what was rounded, line by line."""
    return sum((item.amount for item in items), rounded(Decimal(0), currency))


def labour_priced(hours: Mapping[str, float], rates: Rates) -> Priced:
    """The hours of a procedure, by category."""
    return _hours_priced(ItemKind.LABOUR, "labour", hours, rates)


def fitting_priced(hours: Mapping[str, float] | None, rates: Rates, gap: str) -> Priced:
    """Hours of fitting, each rounded up to a tenth; `gap` names them where none are given."""
    if hours is None:
        return Priced(gaps=(gap,))
    return _hours_priced(
        ItemKind.FITTING,
        "fitting",
        {category: tenth_up(hours[category]) for category in hours if hours[category]},
        rates,
    )


def materials_priced(
    needs: Sequence[MaterialNeed], rates: Rates, pick_list: Iterable[PickLine] = ()
) -> Priced:
    """What is bought of each material where its packages are known, else what is used of it."""
    if not rates.materials:
        return Priced(gaps=("materials",))
    items, gaps = list[CostItem](), list[str]()
    for supply in supplies(needs, pick_list, rates.materials):
        priced = _supply_priced(supply, rates)
        if isinstance(priced, CostItem):
            items.append(priced)
        else:
            gaps.append(priced)
    return Priced(tuple(items), tuple(gaps))


def lump(kind: ItemKind, what: str, price: Decimal, currency: str) -> CostItem:
    """One of something at its price."""
    return _item(kind, what, Decimal(1), "piece", price, currency)


def _hours_priced(kind: ItemKind, noun: str, hours: Mapping[str, float], rates: Rates) -> Priced:
    """Tenths of an hour x rate; what is without a rate is named with its hours."""
    known = [category for category in hours if category in rates.labour_per_hour]
    return Priced(
        tuple(
            _item(
                kind,
                category,
                Decimal(str(hours[category])),
                "hour",
                rates.labour_per_hour[category],
                rates.currency,
            )
            for category in known
        ),
        tuple(
            f"{category} {noun}: {hours[category]:g} h without a rate"
            for category in hours
            if category not in known
        ),
    )


def _supply_priced(supply: Supply, rates: Rates) -> CostItem | str:
    """Its line, or in words why it has none."""
    price = rates.materials.get(supply.name)
    if price is None:
        return f"{supply.name}: no price"
    quantity, unit = supply.quantity(price, rates.materials_charged), price.per.value
    if quantity is None:
        return f"{supply.name}: its price is for a {unit}, and how many it takes is not reckoned"
    return _item(ItemKind.MATERIAL, supply.name, quantity, unit, price.price, rates.currency)


def _item(kind: ItemKind, what: str, quantity: Decimal, unit: str, price: Decimal, currency: str) -> CostItem:
    return CostItem(kind, what, quantity, unit, price, rounded(quantity * price, currency))
