from __future__ import annotations

from dataclasses import replace
from math import fsum

import pytest

from rules.loading import BASE_PACK, load_folder
from rules.materials.identification.beliefs import prior_for
from rules.materials.identification.choosing import remaining_tests
from rules.materials.identification.identify import identify
from rules.materials.identification.model import Evidence, Prior, Range, Tables
from rules.materials.identification.reading import load_tables
from rules.pack import Pack


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


@pytest.fixture(scope="module")
def tables(pack: Pack) -> Tables:
    return load_tables(pack)


@pytest.fixture(scope="module")
def unbiased(tables: Tables) -> Tables:
    """The tables with every material equally probable beforehand."""
    equal = dict.fromkeys(tables.properties, 1 / len(tables.properties))
    return replace(tables, priors=(Prior("any part", (), equal, "for this test"),))


def likeliest_results(tables: Tables, symbol: str) -> dict[str, str]:
    rows = {test: likelihoods[symbol].results for test, likelihoods in tables.likelihoods.items()}
    return {test: max(results, key=lambda result: results[result]) for test, results in rows.items()}


def test_every_material_has_a_likelihood_for_every_result_of_every_test(tables: Tables) -> None:
    assert len(tables.properties) >= 36
    for test in tables.tests.values():
        for symbol in tables.properties:
            results = tables.likelihoods[test.id][symbol].results
            assert results.keys() == test.results.keys()
            assert fsum(results.values()) == pytest.approx(1)
            assert min(results.values()) > 0


def test_every_test_says_how_and_how_to_stay_unhurt_and_nothing_is_burnt(tables: Tables) -> None:
    assert {one.test for one in tables.never} >= {"burn"}
    for test in tables.tests.values():
        assert test.safety
        text = " ".join((test.question, *test.how)).casefold()
        assert not any(word in text for word in ("flame", "lighter", "light it", "burn"))


def test_a_marking_and_its_own_results_rank_every_material_first_whatever_the_part(
    pack: Pack, tables: Tables
) -> None:
    for symbol in tables.properties:
        results = likeliest_results(tables, symbol)
        for prior in tables.priors:
            part = prior.words[0] if prior.words else None
            best = identify(pack, tables, Evidence(f">{symbol}<", results, part)).candidates[0].material
            answers = tables.matter.whole.answers
            assert answers[best] == answers[symbol], (symbol, best, part)


def test_its_own_results_never_leave_a_material_far_behind(pack: Pack, unbiased: Tables) -> None:
    # No bench test tells ABS from ASA, so not every row can be first; but its own results rule none out.
    first = 0
    for symbol in unbiased.properties:
        answer = identify(pack, unbiased, Evidence(tests=likeliest_results(unbiased, symbol)))
        probability = {candidate.material: candidate.probability for candidate in answer.candidates}
        best = answer.candidates[0]
        assert probability[symbol] > best.probability / 2, (symbol, best.material)
        first += probability[symbol] == pytest.approx(best.probability)
    assert first >= 0.7 * len(unbiased.properties)


def test_what_bench_tests_are_for(pack: Pack, tables: Tables) -> None:
    evidence = {
        "thermoset urethane": (
            {"flex": "semi_rigid", "sanding": "powders", "bare_colour": "tan_or_yellow"},
            "PUR",
        ),
        "talc-filled blend": ({"float": "sinks", "sanding": "smears", "feel": "waxy"}, "PP+EPDM-T20"),
    }
    for results, material in evidence.values():
        assert (
            identify(pack, tables, Evidence(tests=results, part="bumper cover")).candidates[0].material
            == material
        )


def test_a_waxy_bumper_cover_that_smears_is_settled_on_promoter_and_heat(pack: Pack, tables: Tables) -> None:
    results = {"sanding": "smears", "feel": "waxy", "float": "floats"}
    answer = identify(pack, tables, Evidence(tests=results, part="front bumper cover"))
    assert answer.prior_part == "bumper cover"
    assert answer.agreed["surface_energy"] == "low"
    assert answer.agreed["matrix"] == "thermoplastic"
    assert answer.agreed["weldable"] is True
    assert "bake_limit_c" in answer.open


def test_what_matters_are_the_properties_that_rules_read_and_the_numbers_that_stages_show(
    tables: Tables,
) -> None:
    asked = {question.about for question in tables.matter.questions}
    assert {"surface_energy", "bake_limit_c", "reshape_to_c"} <= asked
    assert "flexibility" not in asked  # no rule reads it
    bake = next(question for question in tables.matter.questions if question.about == "bake_limit_c")
    assert bake.answers["PP+EPDM-T20"] == Range(80, None)
    assert bake.answers["PE-LD"] == Range(None, 50)


def test_tests_that_could_hurt_are_not_proposed_where_the_line_item_says_so(tables: Tables) -> None:
    forbidden = {
        "airbag_cover": {"float", "flex", "sanding", "brine", "solvent_spot", "warm_air"},
        "fuel_system": {"float", "brine", "solvent_spot", "warm_air"},
        "lamp": {"solvent_spot"},
        "high_voltage": {"warm_air"},
        "load_path": {"float", "brine", "solvent_spot"},
    }
    for fact, tests in forbidden.items():
        matter = replace(tables.matter, facts={fact: True})
        left = remaining_tests(tables, (), prior_for(tables, None), matter)
        assert tables.tests.keys() - set(left) == tests, fact
    lamp = prior_for(tables, "headlamp lens")
    assert "solvent_spot" not in remaining_tests(tables, (), lamp, tables.matter)


def test_cautions_are_those_of_what_is_never_done_and_of_the_next_test(pack: Pack, tables: Tables) -> None:
    answer = identify(pack, tables, Evidence())
    assert answer.next_test is not None
    assert answer.cautions == ("no-burn-test", *tables.tests[answer.next_test.test].cautions)
    assert set(answer.cautions) <= pack.cautions.keys()


def test_every_typical_part_of_the_table_starts_from_a_possible_prior(pack: Pack, tables: Tables) -> None:
    for symbol in tables.properties:
        for part in pack.substrates[symbol].typical_parts:
            answer = identify(pack, tables, Evidence(part=part))
            assert fsum(candidate.probability for candidate in answer.candidates) == pytest.approx(1)
