"""The order in which `rules/README.md` shows the members of everything that a pack file holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias


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
_STAGE = _row(
    "id title phase after resource labour instructions work wait window parameters from_substrate materials"
    " check cautions source",
    work=_row("fixed_min per_m2_min per_dm_min spread"),
    wait=_row("minutes at_c kinetics activation_kj_per_mol valid_c"),
    window=_row("to not_before_min not_after_min if_missed"),
    check=_row("method accept otherwise"),
)
_CAUTION = _row("id title signal hazard protect first_measure defer ghs source")
_MATERIAL = _row(
    "id title kind film_um volume_solids_pct transfer_efficiency_pct use_ml_per_m2 voc_g_per_l source"
)
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
    "stages cautions materials substrates",
    stages=MapOf(_STAGE),
    cautions=MapOf(_CAUTION),
    materials=MapOf(_MATERIAL),
    substrates=MapOf(_SUBSTRATE),
)

FILE = _row(
    "pack phases resources labour facts substrates stages cautions materials rules cases assertions"
    " identification amend withdraw",
    pack=_row("name version title effective_from effective_until extends"),
    facts=MapOf(_FACT),
    substrates=ListOf(_SUBSTRATE),
    stages=ListOf(_STAGE),
    cautions=ListOf(_CAUTION),
    materials=ListOf(_MATERIAL),
    rules=ListOf(_RULE),
    cases=ListOf(_CASE),
    assertions=ListOf(_ASSERTION),
    identification=_IDENTIFICATION,
    amend=_AMEND,
    withdraw=ListOf(_row("rule why")),
)
"""A whole file."""


def below(shape: Shape, name: str | None) -> Shape:
    """The shape of a member, or of an item where `name` is None."""
    if isinstance(shape, Row):
        return shape.members.get(name or "")
    return shape.item if isinstance(shape, (ListOf, MapOf)) else None
