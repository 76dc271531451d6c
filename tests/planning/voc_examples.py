"""Invented coatings, jurisdictions and packs for the tests of emissions."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from planning_examples import make_pack

from planning.emissions.content import Content
from planning.emissions.limits import Mix
from planning.materials.model import MaterialNeed
from rules.jurisdictions import Category, CoatingRole, Convention, Jurisdiction
from rules.pack import Component, Material, Pack


def component(name: str, parts: float, voc_g_per_l: float, **rest: Any) -> Component:
    return Component(name, name.title(), parts, 1.0, voc_g_per_l, **({"role": "base"} | rest))


def coating(name: str, role: CoatingRole | None = None, **rest: Any) -> Material:
    return Material(name, name.title(), "coating", "invented for a test", coating_role=role, **rest)


def mix(name: str, role: CoatingRole | None, voc_g: float | None, **rest: float) -> Mix:
    return Mix(coating(name, role), None if voc_g is None else Content(voc_g, **rest))


def category(name: str, limit_g_per_l: float, *roles: CoatingRole, **rest: Any) -> Category:
    members = {"convention": Convention.LESS_WATER_AND_EXEMPT, "evidence": "invented for a test"} | rest
    return Category(name, name.title(), roles, limit_g_per_l, **members)


def jurisdiction(name: str, *categories: Category, **rest: Any) -> Jurisdiction:
    members = {"exempt_compounds": ("acetone",), "over_limit": ("over",)} | rest
    return Jurisdiction(
        name,
        name.title(),
        f"{name} as published",
        Convention.LESS_WATER_AND_EXEMPT,
        categories,
        source="invented for a test",
        **members,
    )


def pack_of(materials: tuple[Material, ...], *jurisdictions: Jurisdiction, **rest: Any) -> Pack:
    pack = make_pack((), materials, **rest)
    return replace(pack, jurisdictions={each.id: each for each in jurisdictions})


def need_of(material: Material, quantity_ml: Any) -> MaterialNeed:
    known = {"stages": (), "quantity_ml": quantity_ml, "basis": ""}
    return MaterialNeed(material=material.id, title=material.title, kind=material.kind, **known)
