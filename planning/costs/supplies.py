"""How much is bought of everything that a procedure uses, in the units that prices are for."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from planning.costs.model import Charged, MaterialPrice, Per
from planning.materials.model import MaterialNeed, Package, PickLine, RecipePart

_PER_LITRE = 1000
_PER_METRE = 1000


@dataclass(frozen=True)
class Supply:
    """What is bought of a material, or of a component that is mixed into one; None for what is not known.

    `used_ml` is what the job takes, `bought_ml` what its packages hold. `packages` are so many of one size.
    """

    name: str
    used_ml: Decimal | None = None
    bought_ml: Decimal | None = None
    packages: int | None = None
    pieces: int | None = None
    length_mm: int | None = None

    def quantity(self, price: MaterialPrice, charged: Charged) -> Decimal | None:
        """How many litres, metres, pieces or packages are paid for; None where it is not known.

        By the litre, what is bought counts where the packages are known and it is what is charged, else what
        is used. A price of packages of a size of their own goes by that size.
        """
        match price.per:
            case Per.LITRE:
                whole = charged is Charged.BOUGHT and self.bought_ml is not None
                millilitres = self.bought_ml if whole else self.used_ml
                return None if millilitres is None else millilitres / _PER_LITRE
            case Per.METRE:
                return None if self.length_mm is None else Decimal(self.length_mm) / _PER_METRE
            case Per.PIECE:
                return None if self.pieces is None else Decimal(self.pieces)
            case Per.PACKAGE:
                return self._packages(price.package_ml)

    def _packages(self, package_ml: int | None) -> Decimal | None:
        if package_ml is None:
            return None if self.packages is None else Decimal(self.packages)
        if self.used_ml is None:
            return None
        return (self.used_ml / package_ml).to_integral_value(ROUND_CEILING)


def supplies(
    needs: Sequence[MaterialNeed], pick_list: Iterable[PickLine], priced: Container[str]
) -> Iterator[Supply]:
    """What is bought: what is mixed as its components where one of these is `priced` and the mix is not.

    A material that is stirred into a mix is bought with that mix.
    """
    stirred_in = {part.component for need in needs for part in _parts(need)}
    components: dict[str, Decimal] = {}
    for need in needs:
        parts = _parts(need)
        if need.material not in priced and any(part.component in priced for part in parts):
            for part in parts:
                components[part.component] = components.get(part.component, Decimal(0)) + part.volume_ml
        elif parts or need.material not in stirred_in:
            yield _of(need) if need.material in priced else Supply(need.material)
    picked = {line.item: line for line in pick_list}
    for component, used_ml in components.items():
        yield _of_component(component, used_ml, picked.get(component))


def _parts(need: MaterialNeed) -> tuple[RecipePart, ...]:
    return need.recipe.parts if need.recipe else ()


def _of(need: MaterialNeed) -> Supply:
    return Supply(
        name=need.material,
        used_ml=need.quantity_ml,
        bought_ml=need.bought_ml,
        packages=_of_one_size(need.packages),
        pieces=sum(each.count for each in need.pieces) if need.pieces else None,
        length_mm=sum(strip.count * strip.length_mm for strip in need.strips) if need.strips else None,
    )


def _of_component(component: str, used_ml: Decimal, line: PickLine | None) -> Supply:
    """Its packages are those of the pick list where all that is picked goes into mixes paid by component."""
    if line is None or not line.packages or line.quantity_ml != used_ml:
        return Supply(component, used_ml=used_ml)
    bought_ml = sum(package.size_ml * package.count for package in line.packages)
    return Supply(component, used_ml, Decimal(bought_ml), _of_one_size(line.packages))


def _of_one_size(packages: Sequence[Package]) -> int | None:
    """How many packages there are; None where there are none, or of several sizes."""
    sizes = {package.size_ml for package in packages}
    return sum(package.count for package in packages) if len(sizes) == 1 else None
