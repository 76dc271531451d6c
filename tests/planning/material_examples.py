"""Invented materials, mixes and stages for the tests of quantities."""

from __future__ import annotations

from planning_examples import make_stage

from planning.job import Job
from planning.materials.areas import cover_of, covered_m2
from planning.materials.needs import material_needs
from planning.materials.usages import usages_of
from rules.amounts import FIGURES, Amount, Loss, Shape
from rules.pack import Component, Material

INVENTED = "invented for a test"

BASE = Component("base", "Base", 4.0, 1.5, 430.0, "base", packages_ml=(250.0, 1000.0))
ADDITIVE = Component("additive", "Additive", 1.0, 1.0, 250.0, "additive", only_with="soften")
HARDENER = Component("hardener", "Hardener", 1.0, 1.1, 490.0, "hardener", packages_ml=(100.0,))
REDUCER = Component("reducer", "Reducer", 1.0, 0.9, 870.0, "reducer", packages_ml=(500.0,))
MIX = (BASE, ADDITIVE, HARDENER, REDUCER)

PRIMER = Material(
    "primer", "Primer", "coating", INVENTED, film_um=40.0, volume_solids_pct=50.0,
    transfer_efficiency_pct=50.0, mix=MIX,
    losses=(Loss("left in cup and gun", INVENTED, ml=20.0), Loss("spoiled", INVENTED, pct=5.0)),
)  # fmt: skip
SEALER = Material(
    "sealer", "Sealer", "coating", INVENTED, film_um=20.0, volume_solids_pct=40.0,
    transfer_efficiency_pct=50.0, mix=MIX,
)  # fmt: skip
FILLER = Material(
    "filler", "Filler", "filler", INVENTED, packages_ml=(50.0, 200.0),
    losses=(Loss("left in the mixer", INVENTED, ml=4.0), Loss("on the board", INVENTED, pct=10.0)),
)  # fmt: skip
CLEANER = Material("cleaner", "Cleaner", "cleaner", INVENTED, use_ml_per_m2=50.0, packages_ml=(1000.0,))
SHEET = Material("sheet", "Sheets", "consumable", INVENTED, lasts_cm2=1000.0, graded=True)
CLOTH = Material("cloth", "Cloths", "consumable", INVENTED, lasts_cm2=2500.0)
MESH = Material("mesh", "Mesh", "consumable", INVENTED)
TAPE = Material("tape", "Tape", "consumable", INVENTED)
ADDITIVE_ALONE = Material("additive", "Additive", "consumable", INVENTED)
MATERIALS = {
    each.id: each for each in (PRIMER, SEALER, FILLER, CLEANER, SHEET, CLOTH, MESH, TAPE, ADDITIVE_ALONE)
}

CRACK = Job(area_m2=1.0, damage_length_mm=80.0, damage_count=1.0, damage_width_mm=0.0, damage_depth_mm=3.0)


def amount(material, shape, grade=None, **figures):
    """An amount as the loader reads it: what is left out has its default."""
    whole = {name: float(value or 0) for name, value in FIGURES[Shape(shape)].items()} | figures
    return Amount(material, Shape(shape), whole, grade)


def needs_of(*stages, job=CRACK, materials=MATERIALS):
    """The needs of stages of the catalogue, by material."""
    catalogue = {stage.id: stage for stage in stages}
    parameters = {stage.id: stage.parameters for stage in stages}
    areas_m2 = {name: covered_m2(cover_of(parameters[name]), job.spot, job.area_m2) for name in catalogue}
    usages = usages_of(catalogue, parameters, materials)
    return {need.material: need for need in material_needs(usages, areas_m2, job.spot)}


def fill(name="fill", **figures):
    """A stage that fills a dish."""
    dish = {"taper_mm": 20.0, "overfill_mm": 2.0, "run_out_mm": 10.0} | figures
    return make_stage(name, materials=("filler",), amounts=(amount("filler", "dish", **dish),))


def spray(material="primer", name=None, **parameters):
    return make_stage(name or f"spray-{material}", materials=(material,), parameters=parameters)
