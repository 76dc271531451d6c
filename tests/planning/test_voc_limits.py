"""Mixes against limits: the most restrictive, the jurisdiction around, topcoats, what is not known."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from voc_examples import category, jurisdiction, mix

from planning.emissions.limits import chain_of, held, shown
from rules.jurisdictions import CoatingRole, Convention

PRIMER, SEALER = CoatingRole.PRIMER_SURFACER, CoatingRole.PRIMER_SEALER
COLOR, MID, CLEAR = CoatingRole.COLOR_COAT, CoatingRole.MIDCOAT, CoatingRole.CLEAR_COAT


def verdict(one, *places, among=()):
    return held(one, [one, *among], places)


@pytest.mark.parametrize(("voc_g", "over"), [(539.9, False), (540.0, False), (540.04, False), (540.05, True)])
def test_a_mix_is_over_when_the_figure_that_is_told_is(voc_g, over):
    found = verdict(mix("primer", PRIMER, voc_g), jurisdiction("here", category("primers", 540, PRIMER)))
    assert found.over is over
    assert found.value_g_per_l == shown(voc_g)
    assert (found.limit_g_per_l, found.category, found.weighed) == (Decimal(540), "primers", ("primer",))


def test_of_two_categories_the_more_restrictive_counts():
    place = jurisdiction("here", category("primers", 580, PRIMER), category("sealers", 550, PRIMER, SEALER))
    assert verdict(mix("primer", PRIMER, 400.0), place).category == "sealers"
    assert verdict(mix("primer", PRIMER, None), place).category == "sealers"
    assert verdict(mix("primer", PRIMER, 0.0), place).category == "sealers"


@given(
    st.floats(0, 900),
    st.floats(0, 900),
    st.lists(st.tuples(st.floats(1, 900), st.sampled_from(Convention)), min_size=1, max_size=5),
)
def test_a_mix_that_is_over_any_limit_is_told_to_be_over(voc_g, water_ml, limits):
    categories = [
        category(f"c{number}", limit, PRIMER, convention=convention)
        for number, (limit, convention) in enumerate(limits)
    ]
    primer = mix("primer", PRIMER, voc_g, water_ml=water_ml)
    alone = [verdict(primer, jurisdiction("here", each)).over for each in categories]
    assert verdict(primer, jurisdiction("here", *categories)).over is any(alone)


def test_what_no_category_takes_is_not_held():
    place = jurisdiction("here", category("primers", 540, PRIMER))
    assert verdict(mix("sealer", SEALER, 900.0), place) is None
    assert verdict(mix("tape", None, 900.0), place) is None
    assert verdict(mix("primer", PRIMER, 900.0)) is None


def test_the_jurisdiction_around_counts_too():
    outer = jurisdiction("outer", category("primers", 540, PRIMER), category("sealers", 550, SEALER))
    inner = jurisdiction("inner", category("primers", 250, PRIMER), within="outer")
    places = {each.id: each for each in (outer, inner)}
    chain = chain_of("inner", places)
    assert [each.id for each in chain] == ["inner", "outer"]
    assert verdict(mix("primer", PRIMER, 300.0), *chain).jurisdiction == "inner"
    assert verdict(mix("sealer", SEALER, 300.0), *chain).jurisdiction == "outer"
    assert [each.id for each in chain_of("outer", places)] == ["outer"]
    assert chain_of(None, places) == ()
    with pytest.raises(KeyError):
        chain_of("nowhere", places)


def test_exempt_compounds_count_where_none_is_exempt():
    primer = mix("primer", PRIMER, 300.0, exempt_g=240.0, exempt_ml=300.0)
    limit = category("primers", 540, PRIMER, convention=Convention.LESS_WATER)
    assert verdict(primer, jurisdiction("here", limit)).value_g_per_l == Decimal("300.0")
    assert verdict(primer, jurisdiction("there", limit, exempt_compounds=())).value_g_per_l == Decimal(
        "540.0"
    )


def test_a_category_may_count_water_in():
    cleaner = mix("cleaner", CoatingRole.CLEANER, 20.0, water_ml=900.0)
    place = jurisdiction("here", category("cleaners", 25, CoatingRole.CLEANER, convention=Convention.TOTAL))
    assert verdict(cleaner, place).over is False


def test_colour_and_clear_are_weighed_together_where_there_is_a_category_for_it():
    base, clear = mix("base", COLOR, 780.0), mix("clear", CLEAR, 480.0)
    place = jurisdiction("here", category("topcoats", 600, COLOR, CLEAR, CoatingRole.TWO_STAGE_TOPCOAT))
    for one, other in ((base, clear), (clear, base)):
        found = verdict(one, place, among=[other])
        assert (found.value_g_per_l, found.over) == (Decimal("580.0"), False)
        assert found.weighed == ("base", "clear")
    assert verdict(base, place).over is True
    assert verdict(base, place).weighed == ("base",)


def test_midcoats_make_another_topcoat():
    coats = [mix("base", COLOR, 700.0), mix("pearl", MID, 700.0), mix("clear", CLEAR, 500.0)]
    place = jurisdiction(
        "here",
        category("topcoats", 590, CoatingRole.TWO_STAGE_TOPCOAT),
        category("more", 630, CoatingRole.MULTI_STAGE_TOPCOAT),
    )
    found = held(coats[1], coats, [place])
    assert (found.category, found.value_g_per_l) == ("more", Decimal("600.0"))
    assert held(coats[0], [coats[0], coats[2]], [place]).category == "topcoats"


def test_each_coat_counts_alone_where_there_is_no_category_for_the_topcoat():
    base, clear = mix("base", COLOR, 400.0), mix("clear", CLEAR, 300.0)
    place = jurisdiction("here", category("colours", 420, COLOR), category("clears", 250, CLEAR))
    assert verdict(base, place, among=[clear]).over is False
    assert verdict(clear, place, among=[base]).over is True


def test_a_topcoat_with_a_coat_of_unknown_content_is_not_judged():
    base, clear = mix("base", COLOR, 400.0), mix("clear", CLEAR, None)
    place = jurisdiction("here", category("topcoats", 600, CoatingRole.TWO_STAGE_TOPCOAT))
    found = verdict(base, place, among=[clear])
    assert found.over is None
    assert found.value_g_per_l is None


def test_any_content_is_over_a_limit_of_nought():
    place = jurisdiction("here", category("none", 0, PRIMER), category("primers", 540, PRIMER))
    assert verdict(mix("primer", PRIMER, 1.0), place).over is True
    assert verdict(mix("primer", PRIMER, 0.0), place).over is False
