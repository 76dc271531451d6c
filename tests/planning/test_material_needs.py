"""What a procedure uses of each material, loses, mixes, buys and picks."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_CEILING, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from material_examples import CRACK, MATERIALS, amount, fill, needs_of, spray
from planning_examples import make_stage

from planning.materials.model import Package, Pieces
from planning.materials.pick_list import pick_list
from planning.materials.shapes import take

SOFTEN = make_stage("soften", materials=("additive",))


def test_filler_is_what_fills_and_what_is_lost():
    need = needs_of(fill())["filler"]
    filled = take(fill().amounts[0], "fill", CRACK.spot, {}).volume_ml
    assert need.applied_ml == Decimal(str(filled)).quantize(Decimal("0.1"), ROUND_CEILING)
    assert [(each.what, each.source) for each in need.lost] == [
        ("left in the mixer", "invented for a test"),
        ("on the board", "invented for a test"),
    ]
    assert need.lost[0].quantity_ml == 4
    assert float(need.lost[1].quantity_ml) == pytest.approx(filled / 10, abs=0.1)
    assert need.packages == (Package(50, 1),)
    assert (need.bought_ml, need.left_over_ml) == (50, 50 - need.quantity_ml)
    for words in ("80 mm long", "3 mm deep", "2 mm proud", "4.0 ml left in the mixer"):
        assert words in need.basis


def test_a_loss_counts_in_each_stage():
    need = needs_of(fill(), fill("fill-again"))["filler"]
    assert need.lost[0].quantity_ml == 8
    assert need.stages == ("fill", "fill-again") == tuple(need.by_stage_ml)


lengths = st.floats(1, 2000)
areas = st.floats(0.01, 10)
STAGES = (
    fill(), spray(coats=2.0, covers="repair", around_mm=80.0), spray("sealer"), SOFTEN,
    make_stage("wipe", materials=("cleaner", "cloth")),
    make_stage("sand", materials=("sheet",), parameters={"abrasive": "P180"}),
)  # fmt: skip


@given(lengths, st.floats(0, 20), areas, st.integers(1, 20))
def test_the_sum_of_the_parts_is_the_quantity_and_packages_cover_it(length_mm, depth_mm, area_m2, count):
    job = replace(
        CRACK, damage_length_mm=length_mm, damage_depth_mm=depth_mm, area_m2=area_m2, damage_count=count
    )
    for need in needs_of(*STAGES, job=job).values():
        if need.applied_ml is not None:
            assert sum(need.by_stage_ml.values()) == need.applied_ml
            whole = need.applied_ml + sum(each.quantity_ml for each in need.lost)
            assert need.quantity_ml == whole.to_integral_value(ROUND_CEILING)
        if need.packages:
            held = sum(each.size_ml * each.count for each in need.packages)
            assert held == need.bought_ml == need.quantity_ml + need.left_over_ml
            assert need.left_over_ml >= 0
            smallest_ml = Decimal(min(MATERIALS[need.material].packages_ml))
            assert need.left_over_ml < smallest_ml + need.quantity_ml / 20
        if need.recipe:
            assert need.recipe.volume_ml == need.quantity_ml


@given(lengths, areas, st.floats(0, 1000), st.floats(0, 10), st.integers(1, 4))
def test_more_never_takes_less(length_mm, area_m2, longer_mm, larger_m2, coats):
    def quantities(job, coats):
        stages = (fill(), spray(coats=float(coats), covers="repair", around_mm=80.0), *STAGES[2:])
        return [
            (need.quantity_ml or 0, sum(each.count for each in need.pieces))
            for need in needs_of(*stages, job=job).values()
        ]

    job = replace(CRACK, damage_length_mm=length_mm, area_m2=area_m2)
    once = quantities(job, coats)
    for more in (
        quantities(replace(job, damage_length_mm=length_mm + longer_mm), coats),
        quantities(replace(job, damage_depth_mm=job.damage_depth_mm + longer_mm / 100), coats),
        quantities(replace(job, area_m2=area_m2 + larger_m2), coats),
        quantities(job, coats + 1),
    ):
        assert all(a[0] <= b[0] and a[1] <= b[1] for a, b in zip(once, more, strict=True))


def test_spot_work_does_not_prime_the_whole_part():
    spot = needs_of(spray(coats=2.0, covers="repair", around_mm=80.0))["primer"]
    whole = needs_of(spray(coats=2.0))["primer"]
    assert whole.applied_ml == 320
    assert spot.applied_ml == Decimal("10.6")  # 12,800 + 20,106 mm², 80 µm, 50 % and 50 %: 10.53 ml
    assert "2 x 40 µm dry film on 0.03291 m²" in spot.basis


SOFT_WET_UM = 40 / ((6 * 0.5 + (1 - 0.25 / 0.88)) / 7)
"""Six parts of 50 % solids and one of additive, of whose 1000 ml 250 g at 0.88 g/ml evaporate."""


def test_wet_film_is_shown_for_the_gauge():
    film = needs_of(spray(coats=2.0))["primer"].film
    assert (film.coats, film.dry_um, film.wet_um) == (2, 40, 80)
    assert needs_of(spray(coats=2.0), SOFTEN)["primer"].film.wet_um == pytest.approx(SOFT_WET_UM, abs=0.05)


def test_additive_is_mixed_in_where_a_stage_asks_for_it_and_leaves_film():
    plain, soft = needs_of(spray()), needs_of(spray(), SOFTEN)
    assert [part.component for part in plain["primer"].recipe.parts] == ["base", "hardener", "reducer"]
    assert [part.component for part in soft["primer"].recipe.parts] == [
        "base",
        "additive",
        "hardener",
        "reducer",
    ]
    assert float(soft["primer"].applied_ml) == pytest.approx(
        float(plain["primer"].applied_ml) * SOFT_WET_UM / 80, abs=0.1
    )
    assert "(50 % before the flexible additive)" in soft["primer"].basis


def test_additive_takes_its_quantity_from_the_recipes():
    found = needs_of(SOFTEN, spray(), spray("sealer"))
    told = sum(found[name].recipe.parts[1].volume_ml for name in ("primer", "sealer"))
    assert found["additive"].quantity_ml == told.to_integral_value(ROUND_CEILING)
    assert "ml in Primer and" in found["additive"].basis
    assert needs_of(SOFTEN)["additive"].quantity_ml is None


def test_abrasives_are_counted_by_grade():
    sand = make_stage("sand", materials=("sheet",), parameters={"abrasive": "P180"})
    again = replace(sand, id="sand-again", parameters={"abrasive": "P180"})
    fine = replace(
        sand,
        id="sand-fine",
        parameters={"abrasive": "P500", "covers": "repair", "around_mm": 80.0},
        amounts=(amount("sheet", "pieces", grade="P320", fixed=1.0),),
    )
    job = replace(CRACK, area_m2=0.25)
    # 2 x 2,500 cm² at 1,000 cm² a sheet; 329 cm²; and one besides.
    assert needs_of(sand, again, fine, job=job)["sheet"].pieces == (
        Pieces(5, "P180"), Pieces(1, "P500"), Pieces(1, "P320"),
    )  # fmt: skip
    cloths = needs_of(make_stage("wipe", materials=("cloth",)), job=job)["cloth"]
    assert cloths.pieces == (Pieces(1),)


def test_what_no_stage_measures_is_not_reckoned():
    bare = needs_of(make_stage("fill", materials=("filler", "tape")))
    assert bare["filler"].quantity_ml is bare["tape"].quantity_ml is None
    assert bare["filler"].lost == ()


def test_the_pick_list_has_each_thing_once_with_packages_for_all_of_it():
    needs = tuple(needs_of(SOFTEN, fill(), spray(), spray("sealer")).values())
    lines = pick_list(needs, MATERIALS)
    assert [line.item for line in lines] == ["filler", "base", "additive", "hardener", "reducer"]
    base = lines[1]
    parts = [part.volume_ml for need in needs if need.recipe for part in need.recipe.parts[:1]]
    assert base.quantity_ml == sum(parts)
    assert base.used_for == ("spray-primer", "spray-sealer")
    held = sum(each.size_ml * each.count for each in base.packages)
    assert held - base.quantity_ml == base.left_over_ml >= 0
    # 102.3 ml and 51.4 ml: one package for both, not one for each.
    assert (base.quantity_ml, base.packages) == (Decimal("153.7"), (Package(250, 1),))


def test_components_of_one_name_but_other_packages_are_two_things():
    other = replace(MATERIALS["sealer"], mix=(replace(MATERIALS["sealer"].mix[0], packages_ml=(5000.0,)),))
    materials = MATERIALS | {"sealer": other}
    needs = tuple(needs_of(spray(), spray("sealer"), materials=materials).values())
    lines = pick_list(needs, materials)
    assert [(line.item, line.packages[0].size_ml) for line in lines if line.item == "base"] == [
        ("base", 250), ("base", 5000),
    ]  # fmt: skip
