"""What the active rule pack knows, as lists for integrators."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from rules.jurisdictions import Category, Jurisdiction
from rules.pack import Caution, Pack, Stage, Substrate
from rules.vocabulary import Fact, Kind
from rules.wording import condition_in_words
from schemas.figures import plain, plain_values
from schemas.procedure.cautions import caution_members
from schemas.procedure.document import Document, pack_named


def vocabulary_of(pack: Pack) -> Document:
    """Every fact a rule may read, in the order declared."""
    return _listed(pack, (_fact(fact) for fact in pack.vocabulary))


def substrates_of(pack: Pack) -> Document:
    """Every material with its aliases, properties and figures."""
    return _listed(pack, (_substrate(row) for row in pack.substrates.values()))


def stages_of(pack: Pack) -> Document:
    """The stage catalogue."""
    return _listed(pack, (_stage(stage) for stage in pack.stages.values()))


def cautions_of(pack: Pack) -> Document:
    """The catalogue of cautions."""
    return _listed(pack, (caution_declared(caution) for caution in pack.cautions.values()))


def jurisdictions_of(pack: Pack) -> Document:
    """Where a line item may say the shop is, with the limits there."""
    return _listed(pack, (_jurisdiction(place) for place in pack.jurisdictions.values()))


def _listed(pack: Pack, items: Iterable[Document]) -> Document:
    return {"pack": pack_named(pack), "items": list(items)}


def _fact(fact: Fact) -> Document:
    return {
        "fact": fact.name,
        "about": fact.about,
        "kind": fact.kind.value,
        "origin": fact.origin.value,
        "values": [{"value": value, "meaning": meaning} for value, meaning in fact.values.items()],
        "unit": fact.unit,
        **_bounds(fact),
        "default": plain(fact.default),
        "applies_when": fact.applies_when and condition_in_words(fact.applies_when),
        "given_as": fact.given_as,
    }


def _bounds(fact: Fact) -> dict[str, Any]:
    if fact.kind is not Kind.NUMBER:
        return {"minimum": None, "maximum": None, "cut_points": []}
    return {
        "minimum": plain(fact.minimum),
        "maximum": plain(fact.maximum),
        "cut_points": [plain(cut) for cut in fact.cut_points],
    }


def _substrate(row: Substrate) -> Document:
    return {
        "symbol": row.symbol,
        "name": row.name,
        "aliases": list(row.aliases),
        "typical_parts": list(row.typical_parts),
        "properties": plain_values(row.properties),
        "figures": {name: asdict(figure) for name, figure in row.figures.items()},
        "notes": list(row.notes),
        "source": row.source,
    }


def _stage(stage: Stage) -> Document:
    return {
        "stage": stage.id,
        "title": stage.title,
        "phase": stage.phase,
        "after": list(stage.after),
        "resource": stage.resource,
        "labour": stage.labour,
        "instructions": list(stage.instructions),
        "parameters": plain_values(stage.parameters),
        "window": asdict(stage.window) | {"to": list(stage.window.to)} if stage.window else None,
        "materials": list(stage.materials),
        "check": asdict(stage.check) if stage.check else None,
        "cautions": list(stage.cautions),
        "source": stage.source,
    }


def caution_declared(caution: Caution) -> Document:
    return caution_members(caution) | {"source": caution.source}


def _jurisdiction(place: Jurisdiction) -> Document:
    return {
        "jurisdiction": place.id,
        "title": place.title,
        "within": place.within,
        "edition": place.edition,
        "exempt_compounds": list(place.exempt_compounds),
        "categories": [_category(category) for category in place.categories],
        "adds": {caution: list(added) for caution, added in place.adds.items()},
        "over_limit": list(place.over_limit),
        "source": place.source,
    }


def _category(category: Category) -> Document:
    return {
        "category": category.id,
        "title": category.title,
        "roles": [role.value for role in category.roles],
        "limit_g_per_l": plain(category.limit_g_per_l),
        "convention": category.convention.value,
        "evidence": category.evidence,
    }
