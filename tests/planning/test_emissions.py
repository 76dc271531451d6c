"""What a job sets free, mix by mix, and what is told of limits."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from voc_examples import category, coating, component, jurisdiction, need_of, pack_of

from planning.emissions.assessing import assessed
from planning.emissions.voc import emissions
from rules.jurisdictions import CoatingRole

PRIMER_ROLE, CLEANER_ROLE = CoatingRole.PRIMER_SURFACER, CoatingRole.CLEANER
HERE = jurisdiction(
    "here", category("primers", 540, PRIMER_ROLE), category("fillers", 250, CoatingRole.FILLER)
)

PRIMER = coating(
    "primer",
    PRIMER_ROLE,
    mix=(
        component("primer-base", 4, 420),
        component("additive", 1, 900, role="additive", only_with="make-flexible"),
        component("hardener", 1, 300, role="hardener"),
        component(
            "reducer", 1, 870, role="reducer", water_pct=10, exempt_pct=20, exempt_density_g_per_ml=0.8
        ),
    ),
)
CLEANER = coating("cleaner", CLEANER_ROLE, voc_g_per_l=750.0)
FILLER = coating("filler", CoatingRole.FILLER)
TAPE = coating("tape")
PACK = pack_of((PRIMER, CLEANER, FILLER, TAPE), HERE)


def set_free(*needs, stages=(), jurisdiction=None, pack=PACK):
    held = assessed(pack, jurisdiction, tuple(need.material for need in needs), stages)
    return emissions(needs, held, jurisdiction)


def test_both_conventions_and_grams_of_each_mix_and_the_sums():
    found = set_free(need_of(PRIMER, Decimal(600)), need_of(CLEANER, Decimal(110)))
    primer, cleaner = found.mixes
    assert primer.mix.total_g_per_l == Decimal("475.0")  # (4 x 420 + 300 + 870) / 6
    assert primer.mix.less_water_and_exempt_g_per_l == Decimal("500.0")  # over 1 - (0.1 + 0.2) / 6
    assert (primer.voc_g, primer.exempt_g) == (Decimal("285.0"), Decimal("16.0"))
    assert (cleaner.voc_g, cleaner.exempt_g) == (Decimal("82.5"), Decimal("0.0"))
    assert (found.voc_total_g, found.exempt_total_g) == (Decimal("367.5"), Decimal("16.0"))
    assert found.convention.startswith("total")


def test_a_component_is_joined_with_its_stage_alone():
    (plain,) = set_free(need_of(PRIMER, Decimal(1))).mixes
    (flexible,) = set_free(need_of(PRIMER, Decimal(1)), stages=["make-flexible"]).mixes
    assert plain.mix.total_g_per_l == Decimal("475.0")
    assert flexible.mix.total_g_per_l == Decimal("535.7")  # (2850 + 900) / 7


def test_what_neither_evaporates_nor_is_limited_is_left_out():
    found = set_free(need_of(TAPE, None), need_of(FILLER, None))
    (filler,) = found.mixes
    assert filler.mix.material == "filler"
    assert filler.voc_g is filler.mix.total_g_per_l is None
    assert found.voc_total_g == 0


def test_without_a_jurisdiction_nothing_is_held_and_so_it_says():
    found = set_free(need_of(PRIMER, Decimal(100)))
    assert found.jurisdiction is None
    assert found.limits.startswith("Not assessed: no jurisdiction was given.")
    assert found.mixes[0].mix.held is found.mixes[0].mix.told is None


def test_verdicts_are_told_with_the_edition_and_what_is_not_known():
    needs = [need_of(each, Decimal(100)) for each in (PRIMER, CLEANER, FILLER)]
    found = set_free(*needs, jurisdiction="here")
    primer, cleaner, filler = (each.mix for each in found.mixes)
    limit = "the limit of 540 g/L for 'Primers' (here)"
    assert primer.told == f"500.0 g/L less water and exempt compounds: within {limit}."
    assert cleaner.told is None
    assert filler.told.startswith("Its content is not known")
    assert "here as published" in found.limits
    for part in ("None is known to be over.", "Content not known: Filler.", "No limit here: Cleaner."):
        assert part in found.limits


def test_a_jurisdiction_that_the_pack_lacks_is_an_error():
    with pytest.raises(KeyError):
        set_free(jurisdiction="nowhere")


def over_with(alternative, *others):
    rich = coating("rich", PRIMER_ROLE, voc_g_per_l=600.0, alternative=alternative)
    pack = pack_of((rich, *others), HERE)
    found = set_free(need_of(rich, Decimal(100)), jurisdiction="here", pack=pack)
    assert found.mixes[0].mix.held.over
    assert "Over: Rich." in found.limits
    return found.mixes[0].mix


def test_over_the_limit_the_class_that_complies_is_named():
    mix = over_with("lean", coating("lean", PRIMER_ROLE, voc_g_per_l=200.0))
    (other,) = mix.alternatives
    assert (other.material, other.held.over, other.held.value_g_per_l) == ("lean", False, Decimal("200.0"))
    assert "over the limit of 540 g/L" in mix.told
    assert "Lean has 200.0 of 540 g/L and complies; the choice is the shop's." in mix.told


def test_an_alternative_that_is_over_too_or_unknown_is_told_as_such():
    mix = over_with("lean", coating("lean", PRIMER_ROLE, voc_g_per_l=560.0))
    assert mix.alternatives[0].held.over
    assert "over its limit too" in mix.told
    assert "its content is not known" in over_with("lean", coating("lean", PRIMER_ROLE)).told
    assert "ask the supplier" in over_with(None).told


def test_an_alternative_takes_the_place_of_its_coat_in_the_topcoat():
    base = coating("base", CoatingRole.COLOR_COAT, voc_g_per_l=800.0, alternative="waterborne")
    waterborne = coating(
        "waterborne",
        CoatingRole.COLOR_COAT,
        mix=(component("w", 1, 105, water_pct=75, only_with=None),),
    )
    clear = coating("clear", CoatingRole.CLEAR_COAT, voc_g_per_l=540.0)
    place = jurisdiction("here", category("topcoats", 600, CoatingRole.TWO_STAGE_TOPCOAT))
    pack = pack_of((base, waterborne, clear), place)
    needs = [need_of(base, Decimal(100)), need_of(clear, Decimal(100))]
    first, second = (each.mix for each in set_free(*needs, jurisdiction="here", pack=pack).mixes)
    assert first.held.value_g_per_l == second.held.value_g_per_l == Decimal("626.7")
    (other,) = first.alternatives
    assert other.held.weighed == ("waterborne", "clear")
    assert other.held.value_g_per_l == Decimal("500.0")  # (420 + 2 x 540) / 3
    assert second.alternatives == ()


def test_packs_that_are_alike_are_told_apart_by_what_they_are():
    lean = pack_of((coating("primer", PRIMER_ROLE, voc_g_per_l=100.0),))
    rich = pack_of((coating("primer", PRIMER_ROLE, voc_g_per_l=200.0),))
    found = [set_free(need_of(PRIMER, Decimal(1000)), pack=pack).voc_total_g for pack in (lean, rich)]
    assert found == [Decimal("100.0"), Decimal("200.0")]


quantities = st.one_of(st.none(), st.decimals(0, 5000, places=0))


@given(quantities, quantities, quantities)
def test_the_total_is_the_sum_of_the_mixes(primer_ml, cleaner_ml, filler_ml):
    found = set_free(need_of(PRIMER, primer_ml), need_of(CLEANER, cleaner_ml), need_of(FILLER, filler_ml))
    assert found.voc_total_g == sum(each.voc_g or 0 for each in found.mixes)
    assert found.exempt_total_g == sum(each.exempt_g or 0 for each in found.mixes)


@given(st.decimals(0, 5000, places=0), st.decimals(0, 5000, places=0))
def test_more_sets_more_free(first_ml, second_ml):
    less, more = sorted((first_ml, second_ml))
    totals = [set_free(need_of(PRIMER, amount)).voc_total_g for amount in (less, more)]
    assert totals == sorted(totals)
