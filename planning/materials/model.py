"""What a procedure uses, how it is mixed and what is bought for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple


@dataclass(frozen=True)
class Package:
    """So many packages of one size."""

    size_ml: int
    count: int


@dataclass(frozen=True)
class Lost:
    """What is used up without getting onto the part, and where the figure comes from."""

    what: str
    quantity_ml: Decimal
    source: str


@dataclass(frozen=True)
class Film:
    """Coats, the dry film of one, and the wet film that a comb gauge shows of it."""

    coats: int
    dry_um: float
    wet_um: float


@dataclass(frozen=True)
class RecipePart:
    """One component: parts by volume, by mass for 100 of the base, and what the scale shows after it."""

    component: str
    title: str
    role: str
    parts: float
    parts_by_mass: float
    volume_ml: Decimal
    mass_g: Decimal
    scale_g: Decimal


@dataclass(frozen=True)
class Recipe:
    """A mix in the order in which it is made."""

    parts: tuple[RecipePart, ...]
    volume_ml: Decimal
    mass_g: Decimal


@dataclass(frozen=True)
class Strip:
    """So many strips cut for a stage; `width_mm` None: a rod of its own width."""

    stage: str
    count: int
    length_mm: int
    width_mm: int | None


@dataclass(frozen=True)
class Pieces:
    """So many pieces; `grade` of an abrasive, None for what has none."""

    count: int
    grade: str | None = None


class MaterialNeed(NamedTuple):
    """How much of a material the stages use; None where no quantity can be reckoned.

    `quantity_ml` is what has to be ready to use: `applied_ml`, which leaves the gun or goes onto the part,
    and all that is `lost`, rounded up to whole millilitres. `by_stage_ml` are the stages' shares of what is
    applied. `recipe` mixes the quantity. `packages` are for what is bought as it is used; those of what is
    mixed stand in the pick list, by component.
    """

    material: str
    title: str
    kind: str
    stages: tuple[str, ...]
    quantity_ml: Decimal | None
    basis: str
    applied_ml: Decimal | None = None
    by_stage_ml: Mapping[str, Decimal] = MappingProxyType({})
    lost: tuple[Lost, ...] = ()
    film: Film | None = None
    recipe: Recipe | None = None
    packages: tuple[Package, ...] = ()
    bought_ml: Decimal | None = None
    left_over_ml: Decimal | None = None
    pieces: tuple[Pieces, ...] = ()
    strips: tuple[Strip, ...] = ()


class PickLine(NamedTuple):
    """One thing to take from the store, what it is for, and how much; `used_for` names stages."""

    item: str
    title: str
    used_for: tuple[str, ...]
    quantity_ml: Decimal | None
    packages: tuple[Package, ...]
    left_over_ml: Decimal | None
    pieces: tuple[Pieces, ...]
    strips: tuple[Strip, ...]
