"""Holds the mixes of a job against limits. It hangs on the pack and on which mixes there are, not how much.

What was assessed once is remembered, since many jobs use the same mixes.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal
from functools import lru_cache

from planning.emissions.content import content_of_material, g_per_l
from planning.emissions.limits import Mix, chain_of, held, shown
from planning.emissions.model import Alternative, AssessedMix
from planning.emissions.telling import limits_in_words, verdict_in_words
from planning.materials.mixing import joined
from rules.jurisdictions import Convention, Jurisdiction
from rules.pack import Material, Pack
from rules.same import Same

Assessed = tuple[tuple[AssessedMix, ...], str]
"""Every mix that evaporates or is limited, and what is said of limits."""


def assessed(
    pack: Pack, jurisdiction: str | None, materials: tuple[str, ...], stages: Collection[str]
) -> Assessed:
    """The mixes of a job, in their order, without those of which nothing is known and nothing limited.

    `stages` are all of the job: some components are joined with a certain stage only.
    """
    same = Same(pack)
    return _assessed(same, jurisdiction, materials, _joining(same).intersection(stages))


@lru_cache(maxsize=64)
def _joining(same: Same[Pack]) -> frozenset[str]:
    """The stages with which a component is joined that is else left out."""
    components = (each for material in same.it.materials.values() for each in material.mix)
    return frozenset(each.only_with for each in components if each.only_with is not None)


@lru_cache(maxsize=512)
def _assessed(
    same: Same[Pack], jurisdiction: str | None, materials: tuple[str, ...], joining: frozenset[str]
) -> Assessed:
    pack = same.it
    chain = chain_of(jurisdiction, pack.jurisdictions)
    mixes = [_mixed(pack.materials[material], joining) for material in materials]
    mixes = [mix for mix in mixes if mix.content or mix.material.coating_role]
    rows = tuple(_row(mix, mixes, _instead(mix, pack, joining), chain) for mix in mixes)
    return rows, limits_in_words(rows, chain)


def _mixed(material: Material, joining: Collection[str]) -> Mix:
    return Mix(material, content_of_material(material, joined(material.mix, joining)))


def _instead(mix: Mix, pack: Pack, joining: Collection[str]) -> Mix | None:
    """The class that the pack names for the same use, mixed as this job would mix it."""
    name = mix.material.alternative
    return None if name is None else _mixed(pack.materials[name], joining)


def _row(mix: Mix, mixes: Sequence[Mix], instead: Mix | None, chain: Sequence[Jurisdiction]) -> AssessedMix:
    content = mix.content
    verdict = held(mix, mixes, chain)
    over = verdict is not None and verdict.over
    alternatives = _alternatives(mix, mixes, instead, chain) if over and instead else ()
    return AssessedMix(
        material=mix.material.id,
        title=mix.material.title,
        total_g_per_l=_figure(mix, Convention.TOTAL),
        less_water_and_exempt_g_per_l=_figure(mix, Convention.LESS_WATER_AND_EXEMPT),
        voc_g_per_l=None if content is None else Decimal(str(content.voc_g)),
        exempt_g_per_l=None if content is None else Decimal(str(content.exempt_g)),
        held=verdict,
        told=verdict_in_words(verdict, alternatives) if verdict else None,
        alternatives=alternatives,
    )


def _figure(mix: Mix, convention: Convention) -> Decimal | None:
    value = None if mix.content is None else g_per_l(mix.content, convention)
    return None if value is None else shown(value)


def _alternatives(
    mix: Mix, mixes: Sequence[Mix], instead: Mix, chain: Sequence[Jurisdiction]
) -> tuple[Alternative, ...]:
    """The other class, held in the place of the mix among the others."""
    verdict = held(instead, [instead if each is mix else each for each in mixes], chain)
    return (Alternative(instead.material.id, instead.material.title, verdict),) if verdict else ()
