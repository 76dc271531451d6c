"""Materials and emissions."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from material_examples import needs_of as needs_by_material
from planning_examples import make_stage

from planning.job import Job
from planning.materials.coating import coating_ml
from planning.materials.model import MaterialNeed
from rules.pack import Material

PRIMER = Material(
    "primer", "Primer", "coating", "invented for a test", film_um=40.0, volume_solids_pct=50.0,
    transfer_efficiency_pct=50.0, voc_g_per_l=540.0,
)  # fmt: skip
CLEANER = Material(
    "cleaner", "Cleaner", "cleaner", "invented for a test", voc_g_per_l=750.0, use_ml_per_m2=50.0
)
FILLER = Material("filler", "Filler", "filler", "invented for a test")
TAPE = Material("tape", "Tape", "consumable", "invented for a test")
MATERIALS = {material.id: material for material in (PRIMER, CLEANER, FILLER, TAPE)}


def stage_with(name, materials, parameters=None):
    return make_stage(name, materials=materials, parameters=parameters or {})


def needs_of(*stages, area_m2=1.0):
    return tuple(needs_by_material(*stages, job=Job(area_m2=area_m2), materials=MATERIALS).values())


def test_coating_from_area_film_solids_and_transfer():
    # 40 µm dry on 1 m² is 40 ml of solids, 80 ml of coating on the part, 160 ml sprayed.
    assert coating_ml(1.0, 40.0, 1, 50.0, 50.0) == 160


hundredths = st.integers(1, 10_000).map(lambda number: number / 100)


@settings(max_examples=40)
@given(hundredths, hundredths, st.integers(1, 5))
def test_coating_scales_with_area_film_and_coats(area_m2, film_um, coats):
    once = coating_ml(area_m2, film_um, 1, 45.0, 60.0)
    assert coating_ml(area_m2, film_um, coats, 45.0, 60.0) == pytest.approx(once * coats)
    assert coating_ml(area_m2, film_um, 1, 22.5, 60.0) == pytest.approx(once * 2)
    assert coating_ml(area_m2, film_um, 1, 45.0, 30.0) == pytest.approx(once * 2)


def test_coats_of_all_stages_add_up_and_rounding_up_comes_last():
    (need,) = needs_of(
        stage_with("prime", ("primer",), {"coats": 2.0}),
        stage_with("prime-again", ("primer",)),
        area_m2=0.301,
    )
    assert need.quantity_ml == 145  # 144.48; coat by coat it would be 3 x 49
    assert need.stages == ("prime", "prime-again")
    assert need.basis.startswith("3 x 40 µm dry film on 0.301 m², 50 % volume solids, 50 % transfer")


def test_whole_millilitres_are_not_rounded_up():
    (need,) = needs_of(stage_with("prime", ("primer",)), area_m2=1.1)
    assert need.quantity_ml == 176


def test_cleaner_counts_once_a_stage():
    (need,) = needs_of(stage_with("wash", ("cleaner",)), stage_with("wipe", ("cleaner",)), area_m2=1.1)
    assert need.quantity_ml == 110


def test_what_cannot_be_reckoned_says_why():
    filler, tape = needs_of(stage_with("fill", ("filler", "tape")))
    assert filler.quantity_ml is tape.quantity_ml is filler.applied_ml is None
    assert "groove" in filler.basis
    assert "as needed" in tape.basis
    (primer,) = needs_of(stage_with("prime", ("primer",)), area_m2=None)
    assert primer.quantity_ml is None
    assert "area" in primer.basis


def need_of(material, quantity_ml):
    return MaterialNeed(material, material, "coating", (), quantity_ml, "")
