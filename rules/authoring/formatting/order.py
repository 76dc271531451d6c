"""The order in which `rules/README.md` shows the members of everything that a pack file holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from rules.amounts import FIGURES


@dataclass(frozen=True)
class Row:
    """A mapping with a closed set of members, in their order; each says what its value is."""

    members: Mapping[str, Shape]


@dataclass(frozen=True)
class ListOf:
    """A list of things of one shape."""

    item: Shape


@dataclass(frozen=True)
class MapOf:
    """A mapping from names, whose order is the author's, to things of one shape."""

    item: Shape


Shape: TypeAlias = Row | ListOf | MapOf | None
"""None: whatever stands there is left in the author's order."""


def _row(names: str, **shapes: Shape) -> Row:
    return Row({name: shapes.get(name) for name in names.split()})


_FACT = _row(
    "about kind origin values unit minimum maximum cut_points given_as default applies_when otherwise"
)
_SUBSTRATE = _row(
    "symbol name aliases typical_parts properties figures notes source",
    figures=MapOf(_row("low high evidence")),
)
_AMOUNT_FIGURES = dict.fromkeys(name for figures in FIGURES.values() for name in figures)
_FILM = _row("at_um exponent")
_HUMIDITY = _row("at_pct valid_pct")
_STAGE = _row(
    "id title phase after resource labour instructions work may_pause wait window parameters from_substrate"
    " materials amounts check cautions brings source",
    work=_row("fixed_min applying_min per_m2_min per_dm_min spread harder"),
    wait=_row(
        "minutes at_c kinetics activation_kj_per_mol times_per_10_k valid_c film humidity heat",
        film=_FILM,
        humidity=_HUMIDITY,
        heat=_row("up_k_per_min down_k_per_min handling_c least_hold_min"),
    ),
    window=_row(
        "to not_before_min not_after_min if_missed at_c activation_kj_per_mol times_per_10_k valid_c source"
    ),
    check=_row("method accept otherwise"),
    brings=_row("air_c surface_c humidity_pct dew_margin_k"),
    amounts=ListOf(_row("material shape grade " + " ".join(_AMOUNT_FIGURES))),
)
_CAUTION = _row("id title signal hazard protect first_measure defer ghs source")
_MATERIAL = _row(
    "id title called kind coating_role film_um volume_solids_pct transfer_efficiency_pct use_ml_per_m2"
    " lasts_cm2 graded voc_g_per_l density_g_per_ml mix packages_ml losses alternative application drying"
    " pot_life source",
    mix=ListOf(
        _row(
            "id title parts density_g_per_ml voc_g_per_l role water_pct exempt_pct exempt_density_g_per_ml"
            " only_with packages_ml"
        )
    ),
    losses=ListOf(_row("what ml pct source")),
    application=_row("air_c surface_c humidity_pct dew_margin_k source"),
    drying=_row("film humidity", film=_FILM, humidity=_HUMIDITY),
    pot_life=_row("minutes at_c activation_kj_per_mol times_per_10_k valid_c batch_ml batch_exponent source"),
)
_JURISDICTION = _row(
    "id title within edition convention exempt_compounds categories adds over_limit source",
    categories=ListOf(_row("id title roles limit_g_per_l convention evidence")),
)
_POLICY = _row("id when minimum_saving_pct minimum_probability_pct maximum_elapsed_min why source")
_RULE = _row(
    "id when conclude require set caution decide overrides why source", decide=_row("disposition reason")
)
_CASE = _row("name given expect", expect=_row("disposition present absent order parameters cautions"))
_ANSWER = _row("disposition reasons present any_of absent cautions no_stages")
_CLAIM = _row(
    "disposition reasons present any_of absent order nothing_between parameters cautions carry no_stages",
    nothing_between=_row("after before stages"),
    carry=_row("stages users_of cautions"),
)
_ASSERTION = _row(
    "id when where always never overlays_may_differ why source", where=_ANSWER, always=_CLAIM, never=_ANSWER
)
_IDENTIFICATION = _row(
    "settings never tests likelihoods priors",
    settings=_row("agreement worthwhile marking_trust source"),
    never=ListOf(_row("test why cautions")),
    tests=ListOf(_row("id question how safety cautions not_on results source")),
    likelihoods=ListOf(
        _row("test when substrates figure likely why source", figure=_row("name cuts results error"))
    ),
    priors=ListOf(_row("part words weights others not_done source")),
)
_AMEND = _row(
    "stages cautions materials substrates jurisdictions policies",
    stages=MapOf(_STAGE),
    cautions=MapOf(_CAUTION),
    materials=MapOf(_MATERIAL),
    substrates=MapOf(_SUBSTRATE),
    jurisdictions=MapOf(_JURISDICTION),
    policies=MapOf(_POLICY),
)

FILE = _row(
    "pack phases resources labour facts substrates stages cautions materials jurisdictions policies rules"
    " cases assertions identification amend withdraw",
    pack=_row("name version title effective_from effective_until extends"),
    facts=MapOf(_FACT),
    substrates=ListOf(_SUBSTRATE),
    stages=ListOf(_STAGE),
    cautions=ListOf(_CAUTION),
    materials=ListOf(_MATERIAL),
    jurisdictions=ListOf(_JURISDICTION),
    policies=ListOf(_POLICY),
    rules=ListOf(_RULE),
    cases=ListOf(_CASE),
    assertions=ListOf(_ASSERTION),
    identification=_IDENTIFICATION,
    amend=_AMEND,
    withdraw=ListOf(_row("rule policy why")),
)
"""A whole file."""


def below(shape: Shape, name: str | None) -> Shape:
    """The shape of a member, or of an item where `name` is None."""
    if isinstance(shape, Row):
        return shape.members.get(name or "")
    return shape.item if isinstance(shape, (ListOf, MapOf)) else None
