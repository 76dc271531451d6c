"""Recipes: by volume and by mass they are the same mix."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from material_examples import ADDITIVE, BASE, HARDENER, MIX, REDUCER

from planning.materials.mixing import joined, recipe, solids_pct
from rules.amounts import MIXING_ORDER
from rules.pack import Component

ROLES = list(MIXING_ORDER)


@st.composite
def mixes(draw):
    """A mix of one base and up to three others, in their order."""
    number = draw(st.integers(0, 3))
    roles = [
        "base",
        *sorted(draw(st.lists(st.sampled_from(ROLES), min_size=number, max_size=number)), key=ROLES.index),
    ]
    return tuple(
        Component(
            f"component-{position}",
            f"Component {position}",
            draw(st.integers(1, 100)) / 10,
            draw(st.integers(70, 200)) / 100,
            500.0,
            role,
        )
        for position, role in enumerate(roles)
    )


def test_worked_by_hand():
    # 600 ml of 4 : 1 : 1 are 400, 100 and 100 ml; they weigh 600, 110 and 90 g.
    found = recipe((BASE, HARDENER, REDUCER), 600)
    assert [(each.component, each.volume_ml, each.mass_g, each.scale_g) for each in found.parts] == [
        ("base", 400, 600, 600),
        ("hardener", 100, 110, 710),
        ("reducer", 100, 90, 800),
    ]
    assert (found.volume_ml, found.mass_g) == (600, 800)
    assert [each.parts_by_mass for each in found.parts] == [100, 18.3, 15]


@given(mixes(), st.integers(1, 20_000))
def test_the_sums_of_the_parts_are_the_totals(mix, quantity_ml):
    found = recipe(mix, quantity_ml)
    assert sum(each.volume_ml for each in found.parts) == found.volume_ml == quantity_ml
    assert sum(each.mass_g for each in found.parts) == found.mass_g == found.parts[-1].scale_g
    shown = Decimal(0)
    for each in found.parts:
        shown += each.mass_g
        assert each.scale_g == shown


@given(mixes(), st.integers(1, 20_000))
def test_by_volume_and_by_mass_agree_through_the_densities(mix, quantity_ml):
    whole = sum(each.parts for each in mix)
    for each, part in zip(mix, recipe(mix, quantity_ml).parts, strict=True):
        assert float(part.volume_ml) == pytest.approx(quantity_ml * each.parts / whole, abs=0.11)
        assert float(part.mass_g) == pytest.approx(float(part.volume_ml) * each.density_g_per_ml, abs=0.35)
        assert float(part.mass_g) / each.density_g_per_ml == pytest.approx(float(part.volume_ml), abs=0.35)


@given(mixes())
def test_parts_by_mass_are_the_masses_of_a_large_mix(mix):
    parts = recipe(mix, 10_000_000).parts
    for part in parts:
        by_mass = 100 * float(part.mass_g / parts[0].mass_g)
        assert part.parts_by_mass == pytest.approx(by_mass, abs=0.06)


def test_additive_goes_in_only_with_its_stage_and_before_the_reducer():
    assert joined(MIX, ("spray",)) == (BASE, HARDENER, REDUCER)
    with_it = recipe(joined(MIX, ("soften", "spray")), 700)
    assert [each.role for each in with_it.parts] == ["base", "additive", "hardener", "reducer"]
    assert with_it.parts[1].volume_ml == 100


def test_additive_leaves_in_the_film_what_does_not_evaporate():
    assert solids_pct(50.0, (BASE, HARDENER, REDUCER)) == 50
    # 250 g of solvent at 0.88 g/ml are 28.4 % of it: one part of 71.6 % in six of 50 %.
    assert solids_pct(50.0, (BASE, ADDITIVE, HARDENER, REDUCER)) == pytest.approx(53.1, abs=0.05)
    # Water and exempt solvents go, too; an additive that is nothing but solvent thins and no more.
    wet = replace(ADDITIVE, voc_g_per_l=88.0, water_pct=30.0, exempt_pct=10.0)
    assert solids_pct(50.0, (BASE, wet, HARDENER, REDUCER)) == pytest.approx(50)
    thinner = replace(ADDITIVE, voc_g_per_l=950.0)
    assert solids_pct(42.0, (BASE, thinner, HARDENER, REDUCER)) == pytest.approx(36)
