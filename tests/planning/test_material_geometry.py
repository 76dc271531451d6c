"""Volumes of grooves and fillings, and the areas that stages cover."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from material_examples import CRACK, amount

from planning.job import Spot
from planning.materials.areas import cover_of, covered_m2
from planning.materials.grooves import (
    dish_mm3,
    overfill_mm3,
    v_groove_mm2,
    v_groove_width_mm,
    within_mm2,
)
from planning.materials.shapes import take

sizes = st.floats(0, 300)
depths = st.floats(0.1, 20)
larger = st.floats(0, 100)


def on_a_grid(length_mm, width_mm, reach_mm, height_of, step_mm=0.1):
    """The integral of a height by the distance from a rectangle, in mm³, by adding up a grid."""
    across = np.arange(-reach_mm, width_mm + reach_mm, step_mm) + step_mm / 2
    along = np.arange(-reach_mm, length_mm + reach_mm, step_mm) + step_mm / 2
    out_across = np.maximum(np.maximum(-across, across - width_mm), 0)
    out_along = np.maximum(np.maximum(-along, along - length_mm), 0)
    distance = np.hypot(out_across[:, None], out_along[None, :])
    return float(height_of(distance)[distance <= reach_mm].sum()) * step_mm**2


@pytest.mark.parametrize(("length_mm", "width_mm"), [(60.0, 0.0), (30.0, 15.0), (0.0, 0.0)])
def test_formulas_are_the_sums_over_a_grid(length_mm, width_mm):
    taper_mm, depth_mm, proud_mm, run_mm = 20.0, 3.0, 2.0, 10.0
    area = on_a_grid(length_mm, width_mm, taper_mm, lambda r: np.ones_like(r))
    assert within_mm2(length_mm, width_mm, taper_mm) == pytest.approx(area, rel=3e-3)
    dish = on_a_grid(length_mm, width_mm, taper_mm, lambda r: depth_mm * (1 - (r / taper_mm) ** 2))
    assert dish_mm3(length_mm, width_mm, depth_mm, taper_mm) == pytest.approx(dish, rel=3e-3)
    proud = on_a_grid(
        length_mm, width_mm, taper_mm + run_mm, lambda r: proud_mm * np.where(r <= taper_mm, 1.0, 0.5)
    )
    found = overfill_mm3(length_mm, width_mm, taper_mm, proud_mm, run_mm)
    assert found == pytest.approx(proud, rel=3e-3)


def test_v_groove_of_sixty_degrees():
    assert v_groove_mm2(3.0, 60.0) == pytest.approx(9 / sqrt(3))
    assert v_groove_width_mm(3.0, 90.0) == pytest.approx(6.0)


@given(sizes, sizes, depths, st.floats(1, 60), larger)
def test_more_damage_never_takes_less(length_mm, width_mm, depth_mm, taper_mm, more):
    once = dish_mm3(length_mm, width_mm, depth_mm, taper_mm)
    assert dish_mm3(length_mm + more, width_mm, depth_mm, taper_mm) >= once
    assert dish_mm3(length_mm, width_mm + more, depth_mm, taper_mm) >= once
    assert dish_mm3(length_mm, width_mm, depth_mm + more, taper_mm) >= once
    assert dish_mm3(length_mm, width_mm, depth_mm, taper_mm + more) >= once
    # A dish is less than a block and more than a wedge of its outline.
    block = within_mm2(length_mm, width_mm, taper_mm) * depth_mm
    assert block / 3 <= once <= block * (1 + 1e-9)


SHAPES = (
    amount("filler", "dish", taper_mm=20.0, overfill_mm=2.0, run_out_mm=10.0),
    amount("filler", "v_groove", angle_deg=60.0, beyond_mm=10.0),
    amount("filler", "layer", beyond_mm=40.0, thickness_mm=1.0, each_layer_mm=1.0),
    amount("filler", "block", out_mm=25.0, thicker_pct=20.0),
    amount("filler", "bead", section_mm2=20.0, fixed_mm=50.0, along_pct=100.0),
)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda each: each.shape.value)
@given(sizes, depths, st.integers(1, 9), larger)
def test_a_longer_or_deeper_or_further_damage_never_takes_less(shape, length_mm, depth_mm, count, more):
    def volume_ml(spot):
        return take(shape, "fill", spot, {}).volume_ml

    once = volume_ml(Spot(length_mm, 0.0, depth_mm, count))
    assert volume_ml(Spot(length_mm + more, 0.0, depth_mm, count)) >= once
    assert volume_ml(Spot(length_mm, 0.0, depth_mm + more, count)) >= once
    assert volume_ml(Spot(length_mm, 0.0, depth_mm, 2 * count)) == pytest.approx(2 * once)


def test_a_bead_is_section_times_length():
    bead = amount("adhesive", "bead", section_mm2=20.0, fixed_mm=50.0, along_pct=100.0)
    assert take(bead, "bond", CRACK.spot, {}).volume_ml == pytest.approx(20 * 130 / 1000)


def test_a_groove_is_cut_to_a_share_of_the_depth():
    shape = amount("filler", "v_groove", angle_deg=90.0)
    assert take(shape, "fill", CRACK.spot, {}).volume_ml == pytest.approx(9 * 80 / 1000)
    assert take(shape, "fill", CRACK.spot, {"depth_pct": 50.0}).volume_ml == pytest.approx(0.18)


def test_a_shallow_hollow_is_reckoned_with_the_least_depth():
    shape = amount("filler", "dish", taper_mm=20.0, least_depth_mm=1.0)
    flat, deep = Spot(80.0, 0.0, 0.0, 1.0), Spot(80.0, 0.0, 1.0, 1.0)
    assert take(shape, "fill", flat, {}).volume_ml == take(shape, "fill", deep, {}).volume_ml > 0


def test_rod_has_the_volume_of_the_groove():
    shape = amount("rod", "v_groove", angle_deg=60.0, beyond_mm=10.0, proud_mm=1.0, rod_mm=3.0)
    (rod,) = take(shape, "weld", CRACK.spot, {}).strips
    section_mm2 = 9 / sqrt(3) + 2 * 3 / sqrt(3)
    assert rod.length_mm == pytest.approx(section_mm2 * 100 / (pi * 9 / 4), abs=1)
    assert (rod.count, rod.width_mm, rod.stage) == (1, None, "weld")


def test_strips_are_as_long_as_the_break_and_the_overlap_at_both_ends():
    shape = amount("mesh", "strip", beyond_mm=40.0, across_mm=25.0, layers=1.0, larger_each_mm=20.0)
    twice = replace(CRACK, damage_count=2.0).spot
    (strip,) = take(shape, "bed", twice, {}).strips
    assert (strip.count, strip.length_mm, strip.width_mm) == (2, 160, 50)
    layers = take(shape, "bed", twice, {"layers": 3.0}).strips
    assert [(each.length_mm, each.width_mm) for each in layers] == [(160, 50), (180, 70), (200, 90)]


def test_a_damage_is_no_wider_than_long():
    job = CRACK.__class__(damage_length_mm=10.0, damage_width_mm=50.0)
    assert (job.spot.width_mm, job.spot.count, job.spot.depth_mm) == (10, 1, 0)


REPAIR = cover_of({"covers": "repair", "around_mm": 80.0})
PART, TRIAL = cover_of({}), cover_of({"covers": "trial"})


def test_spot_work_covers_the_repair_and_its_margin():
    area_mm2 = 2 * 80 * 80 + pi * 80 * 80
    assert covered_m2(REPAIR, CRACK.spot, 1.0) == pytest.approx(area_mm2 / 1e6)
    assert covered_m2(PART, CRACK.spot, 1.0) == covered_m2(cover_of({"covers": "part"}), CRACK.spot, 1.0) == 1


@given(st.floats(1, 3000), sizes, st.integers(1, 50), st.floats(0.01, 10))
def test_spot_work_never_covers_more_than_the_part(length_mm, width_mm, count, part_m2):
    spot = Spot(length_mm, width_mm, 3.0, count)
    assert 0 < covered_m2(REPAIR, spot, part_m2) <= part_m2
    assert covered_m2(REPAIR, Spot(2 * length_mm, width_mm, 3.0, count), part_m2) >= covered_m2(
        REPAIR, spot, part_m2
    )


def test_a_trial_covers_nothing_that_counts():
    assert covered_m2(TRIAL, CRACK.spot, 1.0) == 0
    assert covered_m2(TRIAL, Spot(0.0, 0.0, 0.0, 1.0), None) == 0


def test_damage_without_a_length_may_be_anywhere():
    assert covered_m2(REPAIR, Spot(0.0, 0.0, 0.0, 1.0), 1.3) == 1.3
    assert covered_m2(PART, CRACK.spot, None) is None
