"""What a litre of a mix holds, in each convention."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from voc_examples import coating, component

from planning.emissions.content import (
    Content,
    content_of,
    content_of_material,
    g_per_l,
    multi_stage_g_per_l,
)
from rules.jurisdictions import Convention

TOTAL, LESS_WATER, LESS_BOTH = Convention.TOTAL, Convention.LESS_WATER, Convention.LESS_WATER_AND_EXEMPT


def test_components_count_by_their_parts_by_volume():
    mixed = content_of(
        (
            component("base", 4, 420),
            component("hardener", 1, 300, exempt_pct=30, exempt_density_g_per_ml=0.8),
            component("reducer", 1, 870, water_pct=12),
        )
    )
    assert mixed.voc_g == pytest.approx((4 * 420 + 300 + 870) / 6)
    assert mixed.exempt_ml == pytest.approx(300 / 6)
    assert mixed.exempt_g == pytest.approx(240 / 6)
    assert mixed.water_ml == pytest.approx(120 / 6)


def test_conventions_take_out_what_they_say():
    content = Content(voc_g=100, exempt_g=80, exempt_ml=100, water_ml=400)
    assert g_per_l(content, TOTAL) == 100
    assert g_per_l(content, LESS_WATER) == pytest.approx(100 / 0.6)
    assert g_per_l(content, LESS_BOTH) == pytest.approx(100 / 0.5)
    assert g_per_l(content, LESS_WATER, exempt_counts=True) == pytest.approx(180 / 0.6)


def test_a_mix_of_nothing_but_exempt_compounds_has_none():
    assert g_per_l(Content(voc_g=0, exempt_g=790, exempt_ml=1000), LESS_BOTH) == 0
    assert g_per_l(Content(voc_g=1, exempt_g=790, exempt_ml=1000), LESS_BOTH) is None


def test_what_is_not_mixed_has_its_own_content_or_none_that_is_known():
    assert content_of_material(coating("primer", voc_g_per_l=540.0), ()) == Content(540.0)
    assert content_of_material(coating("putty"), ()) is None
    mixed = coating("primer", voc_g_per_l=540.0, mix=(component("base", 1, 100),))
    assert content_of_material(mixed, mixed.mix) == Content(100.0)


grams = st.floats(0, 900)
parts = st.floats(0.1, 10)


@st.composite
def mixes(draw):
    """One to four components of which water and exempt compounds leave at least a tenth of the volume."""
    return tuple(
        component(
            f"c{number}",
            draw(parts),
            draw(grams),
            water_pct=draw(st.floats(0, 50)),
            exempt_pct=draw(st.floats(0, 40)),
            exempt_density_g_per_ml=0.79,
        )
        for number in range(draw(st.integers(1, 4)))
    )


@given(mixes())
def test_less_water_is_never_below_total_and_less_both_never_below_less_water(components):
    content = content_of(components)
    total, less_water, less_both = (g_per_l(content, each) for each in (TOTAL, LESS_WATER, LESS_BOTH))
    assert total <= less_water <= less_both
    if content.water_ml > 0.001 and content.voc_g > 0.001:
        assert total < less_water


@given(mixes(), parts)
def test_added_water_leaves_what_is_less_water_as_it_is(components, water_parts):
    thinned = content_of((*components, component("water", water_parts, 0.0, water_pct=100.0)))
    content = content_of(components)
    for convention in (LESS_WATER, LESS_BOTH):
        assert g_per_l(thinned, convention) == pytest.approx(g_per_l(content, convention), abs=1e-6)
    assert g_per_l(thinned, TOTAL) <= g_per_l(content, TOTAL) + 1e-9


@given(mixes(), parts)
def test_an_added_exempt_compound_leaves_what_is_less_both_as_it_is(components, exempt_parts):
    exempt = component("exempt", exempt_parts, 0.0, exempt_pct=100.0, exempt_density_g_per_ml=0.79)
    thinned, content = content_of((*components, exempt)), content_of(components)
    assert g_per_l(thinned, LESS_BOTH) == pytest.approx(g_per_l(content, LESS_BOTH), abs=1e-6)


@given(mixes(), st.floats(0.1, 10))
def test_how_much_is_mixed_does_not_matter(components, factor):
    scaled = tuple(
        component(
            each.id,
            each.parts * factor,
            each.voc_g_per_l,
            water_pct=each.water_pct,
            exempt_pct=each.exempt_pct,
            exempt_density_g_per_ml=0.79,
        )
        for each in components
    )
    assert g_per_l(content_of(scaled), LESS_BOTH) == pytest.approx(
        g_per_l(content_of(components), LESS_BOTH), abs=1e-6
    )


@given(grams, st.lists(grams, max_size=3), grams)
def test_a_topcoat_lies_between_its_leanest_and_its_richest_coat(base, midcoats, clear):
    together = multi_stage_g_per_l(base, midcoats, clear)
    assert min(base, clear, *midcoats) - 1e-9 <= together <= max(base, clear, *midcoats) + 1e-9


def test_the_clear_counts_twice():
    assert multi_stage_g_per_l(600, [], 300) == 400
    assert multi_stage_g_per_l(600, [500], 300) == 425
