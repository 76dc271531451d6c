"""What a procedure uses: quantities, recipes, packages and the pick list.

Quantities are decimal strings. Millilitres of a need are rounded up to whole ones; millilitres and grams of a
recipe are rounded to a tenth so that they add up to its totals.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from marshmallow import fields

from planning.materials.model import (
    Film,
    Lost,
    MaterialNeed,
    Package,
    PickLine,
    Pieces,
    Recipe,
    RecipePart,
    Strip,
)
from schemas.answers import Answer, decimal, many, number, one, table, text, texts, whole
from schemas.figures import decimal as decimal_text
from schemas.figures import plain

Document = dict[str, Any]


class PackageGiven(Answer):
    size_ml = whole("What one holds, in millilitres.")
    count = whole("How many.")


class PiecesGiven(Answer):
    count = whole("How many.")
    grade = text("The P-grade of an abrasive; null: it has none.", null=True)


class StripGiven(Answer):
    stage = text("The stage it is cut for.")
    count = whole("How many.")
    length_mm = whole("Its length.")
    width_mm = whole("Its width; null: a rod of its own width.", null=True)


class LostGiven(Answer):
    what = text("What is used up without getting onto the part.")
    quantity_ml = decimal("How much, in millilitres.")
    source = text("Where the figure comes from.")


class FilmGiven(Answer):
    coats = whole("How many coats, over all stages.")
    dry_um = number("The dry film of one coat.")
    wet_um = number("The wet film of one coat, as a comb gauge shows it.")


class RecipePartGiven(Answer):
    component = text("The component's name.")
    title = text("What it is.")
    role = text("Base, additive, hardener or reducer.")
    parts = number("Parts by volume.")
    parts_by_mass = number("Parts by mass for 100 of the base, to a tenth.")
    volume_ml = decimal("How much of it, in millilitres.")
    mass_g = decimal("How much of it, in grams.")
    scale_g = decimal("What the scale shows once it is in, with the cup at nought.")


class RecipeGiven(Answer):
    parts = many(RecipePartGiven, "What goes in, in this order.")
    volume_ml = decimal("All of it, in millilitres.")
    mass_g = decimal("All of it, in grams.")


class MaterialNeeded(Answer):
    material = text("The material class's name.")
    title = text("What it is.")
    kind = text("Coating, filler, cleaner or consumable.")
    stages = texts("The stages that use it.")
    quantity_ml = decimal(
        "How much has to be ready to use, losses included, in millilitres; null: not reckoned.",
        null=True,
    )
    basis = text("How the quantity was reckoned, and what of it is lost.")
    applied_ml = decimal("What of it leaves the gun, or is laid onto the part.", null=True)
    by_stage_ml = table(fields.String(), "The shares of the stages in what is applied, in millilitres.")
    lost = many(LostGiven, "What is lost besides.")
    film = one(FilmGiven, "Coats and films; null: it is no coating, or not reckoned.", null=True)
    recipe = one(RecipeGiven, "How the quantity is mixed; null: it is used as it is bought.", null=True)
    packages = many(
        PackageGiven, "What is bought of what is not mixed: least left over, then fewest; empty: by quantity."
    )
    bought_ml = decimal("What the packages hold.", null=True)
    left_over_ml = decimal("What stays in them.", null=True)
    pieces = many(PiecesGiven, "What is counted.")
    strips = many(StripGiven, "What is cut to size.")


class PickLineGiven(Answer):
    item = text("The name of the material class, or of the component of a mix.")
    title = text("What it is.")
    used_for = texts("The stages it is used for.")
    quantity_ml = decimal("How much is used, in millilitres; null: not reckoned, or counted.", null=True)
    packages = many(PackageGiven, "What to take; empty: by quantity, count or size.")
    left_over_ml = decimal("What stays in the packages.", null=True)
    pieces = many(PiecesGiven, "What is counted.")
    strips = many(StripGiven, "What is cut to size.")


def material_document(need: MaterialNeed) -> Document:
    return {
        "material": need.material,
        "title": need.title,
        "kind": need.kind,
        "stages": list(need.stages),
        "quantity_ml": decimal_text(need.quantity_ml),
        "basis": need.basis,
        "applied_ml": decimal_text(need.applied_ml),
        "by_stage_ml": {stage: decimal_text(volume) for stage, volume in need.by_stage_ml.items()},
        "lost": [_lost(each) for each in need.lost],
        "film": _film(need.film) if need.film else None,
        "recipe": _recipe(need.recipe) if need.recipe else None,
        "packages": _plainly(need.packages),
        "bought_ml": decimal_text(need.bought_ml),
        "left_over_ml": decimal_text(need.left_over_ml),
        "pieces": _plainly(need.pieces),
        "strips": _plainly(need.strips),
    }


def pick_list_document(lines: Iterable[PickLine]) -> list[Document]:
    return [
        {
            "item": line.item,
            "title": line.title,
            "used_for": list(line.used_for),
            "quantity_ml": decimal_text(line.quantity_ml),
            "packages": _plainly(line.packages),
            "left_over_ml": decimal_text(line.left_over_ml),
            "pieces": _plainly(line.pieces),
            "strips": _plainly(line.strips),
        }
        for line in lines
    ]


def _plainly(rows: Iterable[Package | Pieces | Strip]) -> list[Document]:
    return [asdict(row) for row in rows]


def _lost(lost: Lost) -> Document:
    return {"what": lost.what, "quantity_ml": decimal_text(lost.quantity_ml), "source": lost.source}


def _film(film: Film) -> Document:
    return {"coats": film.coats, "dry_um": plain(film.dry_um), "wet_um": plain(film.wet_um)}


def _recipe(recipe: Recipe) -> Document:
    return {
        "parts": [_part(part) for part in recipe.parts],
        "volume_ml": decimal_text(recipe.volume_ml),
        "mass_g": decimal_text(recipe.mass_g),
    }


def _part(part: RecipePart) -> Document:
    return {
        "component": part.component,
        "title": part.title,
        "role": part.role,
        "parts": plain(part.parts),
        "parts_by_mass": plain(part.parts_by_mass),
        "volume_ml": decimal_text(part.volume_ml),
        "mass_g": decimal_text(part.mass_g),
        "scale_g": decimal_text(part.scale_g),
    }
