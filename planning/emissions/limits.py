"""Holds a mix against the limits of a jurisdiction, and of the one around it.

Where more than one category applies, the most restrictive does (40 CFR 59.102(b)).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import inf

from planning.emissions.content import Content, g_per_l, multi_stage_g_per_l
from planning.emissions.model import Held
from rules.jurisdictions import Category, CoatingRole, Convention, Jurisdiction
from rules.pack import Material

_TENTH = Decimal("0.1")
_LAYERS = (CoatingRole.COLOR_COAT, CoatingRole.MIDCOAT, CoatingRole.CLEAR_COAT)


@dataclass(frozen=True)
class Mix:
    """A material as this job mixes it; `content` None: not known."""

    material: Material
    content: Content | None


def chain_of(name: str | None, jurisdictions: Mapping[str, Jurisdiction]) -> tuple[Jurisdiction, ...]:
    """A jurisdiction and the one that it lies within; none without a name. Raises KeyError for an unknown."""
    if name is None:
        return ()
    inner = jurisdictions[name]
    return (inner,) if inner.within is None else (inner, jurisdictions[inner.within])


def held(mix: Mix, mixes: Sequence[Mix], chain: Sequence[Jurisdiction]) -> Held | None:
    """The mix against the most restrictive limit of all that apply; None where none does.

    `mixes` are those of the whole job, for the topcoat that the mix may be a part of.
    """
    found = [each for jurisdiction in chain for each in _held_by(jurisdiction, mix, mixes)]
    return max(found, key=_strictness) if found else None


def shown(value: float) -> Decimal:
    """To a tenth, half up: the figure that is told is the one that is judged."""
    return Decimal(str(round(value, 6))).quantize(_TENTH, ROUND_HALF_UP)


def _held_by(jurisdiction: Jurisdiction, mix: Mix, mixes: Sequence[Mix]) -> Iterator[Held]:
    role = mix.material.coating_role
    if role is None:
        return
    layers = _topcoat(mixes) if role in _LAYERS else ()
    together = jurisdiction.categories_of(_topcoat_role(layers)) if layers else ()
    for category in together:
        yield _verdict(jurisdiction, category, layers)
    if not together:
        for category in jurisdiction.categories_of(role):
            yield _verdict(jurisdiction, category, (mix,))


def _topcoat(mixes: Sequence[Mix]) -> tuple[Mix, ...]:
    """Base, midcoats and clear in this order; nothing where the job does not have both base and clear."""
    layers = tuple(mix for role in _LAYERS for mix in mixes if mix.material.coating_role is role)
    roles = {mix.material.coating_role for mix in layers}
    return layers if {CoatingRole.COLOR_COAT, CoatingRole.CLEAR_COAT} <= roles else ()


def _topcoat_role(layers: Sequence[Mix]) -> CoatingRole:
    has_midcoat = any(mix.material.coating_role is CoatingRole.MIDCOAT for mix in layers)
    return CoatingRole.MULTI_STAGE_TOPCOAT if has_midcoat else CoatingRole.TWO_STAGE_TOPCOAT


def _verdict(jurisdiction: Jurisdiction, category: Category, weighed: Sequence[Mix]) -> Held:
    value = _value(weighed, category.convention, exempt_counts=not jurisdiction.exempt_compounds)
    limit = Decimal(f"{category.limit_g_per_l:g}")
    told = None if value is None else shown(value)
    return Held(
        jurisdiction=jurisdiction.id,
        category=category.id,
        title=category.title,
        weighed=tuple(mix.material.id for mix in weighed),
        convention=category.convention.value,
        value_g_per_l=told,
        limit_g_per_l=limit,
        over=None if told is None else told > limit,
        evidence=category.evidence,
    )


def _value(weighed: Sequence[Mix], convention: Convention, exempt_counts: bool) -> float | None:
    """The content of one mix, or of a topcoat; None where that of any is not known."""
    contents = [mix.content for mix in weighed if mix.content is not None]
    values = [g_per_l(content, convention, exempt_counts) for content in contents]
    known = [value for value in values if value is not None]
    if len(known) < len(weighed):
        return None
    if len(known) == 1:
        return known[0]
    by_role: dict[CoatingRole | None, list[float]] = {}
    for mix, value in zip(weighed, known, strict=True):
        by_role.setdefault(mix.material.coating_role, []).append(value)
    base, clear = max(by_role[CoatingRole.COLOR_COAT]), max(by_role[CoatingRole.CLEAR_COAT])
    return multi_stage_g_per_l(base, by_role.get(CoatingRole.MIDCOAT, ()), clear)


def _strictness(found: Held) -> tuple[float, Decimal]:
    """How near to the limit, or how far over it; where nothing is known, the lowest limit goes first."""
    if not found.value_g_per_l:
        return 0.0, -found.limit_g_per_l
    ratio = float(found.value_g_per_l / found.limit_g_per_l) if found.limit_g_per_l else inf
    return ratio, -found.limit_g_per_l
