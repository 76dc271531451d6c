"""Bayes' rule, information and floating against figures from outside."""

from __future__ import annotations

import pytest

from rules.loading import BASE_PACK, load_folder
from rules.materials.identification.beliefs import posterior
from rules.materials.identification.choosing import Choice, best_test
from rules.materials.identification.model import BenchTest, Likelihood, Matter, Question, Tables
from rules.materials.identification.reading import load_tables

TALC_G_PER_CM3 = 2.75
PP_G_PER_CM3 = 0.905
"""Talc from memory; polypropylene from Crawford, Plastics Engineering, table 1.8."""


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(load_folder(BASE_PACK))


def test_posterior_of_the_mammography_problem() -> None:
    # Eddy 1982, in Judgment under Uncertainty: 1 % prevalence, 80 % sensitivity and 9.6 % false alarms
    # give 7.8 %. From memory.
    after = posterior({"ill": 0.01, "well": 0.99}, [{"ill": 0.8, "well": 0.096}])
    assert after["ill"] == pytest.approx(0.078, abs=0.0005)


def test_what_a_test_tells_is_the_capacity_of_a_binary_symmetric_channel() -> None:
    # Cover and Thomas, Elements of Information Theory, ch. 7: 1 - H(0.11) is half a bit. From memory.
    rows = {"A": {"yes": 0.89, "no": 0.11}, "B": {"yes": 0.11, "no": 0.89}}
    sent = Question("sent", {"A": True, "B": False})
    channel = Tables(
        agreement=0.88,
        worthwhile=0.01,
        marking_trust=0.97,
        properties={"A": {"fact": True}, "B": {"fact": False}},
        matter=Matter(sent, (sent,)),
        tests={"send": BenchTest("send", "?", (), "", {"yes": "", "no": ""})},
        likelihoods={"send": {symbol: Likelihood(row, "", "") for symbol, row in rows.items()}},
        priors=(),
        never=(),
    )
    chosen = best_test(channel, {"A": 0.5, "B": 0.5}, ["send"], channel.matter)
    assert chosen == Choice("send", "sent", pytest.approx(0.5, abs=0.001))


def filled_g_per_cm3(polymer: float, share: float) -> float:
    """Rule of mixtures by mass: 1/rho = w/rho_filler + (1 - w)/rho_polymer."""
    return 1 / (share / TALC_G_PER_CM3 + (1 - share) / polymer)


def test_talc_sinks_polypropylene_from_about_14_per_cent() -> None:
    assert filled_g_per_cm3(PP_G_PER_CM3, 0.142) == pytest.approx(1.000, abs=0.0005)
    computed = {share: filled_g_per_cm3(PP_G_PER_CM3, share / 100) for share in (10, 20, 30, 40)}
    assert computed == pytest.approx({10: 0.970, 20: 1.045, 30: 1.133, 40: 1.237}, abs=0.001)


def test_the_float_test_follows_the_arithmetic_for_talc_filled_blends(tables: Tables) -> None:
    floats = {symbol: row.results["floats"] for symbol, row in tables.likelihoods["float"].items()}
    # Blends of 0.88 to 0.91 g/cm3 before filling: from memory.
    for symbol, share in (("PP+EPDM", 0), ("PP+EPDM-T10", 10), ("PP+EPDM-T20", 20), ("PP+EPDM-T30", 30)):
        lightest, heaviest = (filled_g_per_cm3(polymer, share / 100) for polymer in (0.88, 0.91))
        assert (heaviest < 1 and floats[symbol] > 0.9) or (lightest > 1 and floats[symbol] < 0.1)
    assert 0.1 < floats["PP+EPDM-T15"] < 0.9  # 0.98 to 1.01: it can do either.


@pytest.mark.parametrize(
    ("symbol", "density"),
    [
        # Crawford, Plastics Engineering, table 1.8.
        ("PP", 0.905),
        ("ABS", 1.04),
        ("POM", 1.41),
        ("UP-GF", 1.80),
        # PNNL-15870, compendium of material compositions.
        ("PA6", 1.14),
        ("PA66", 1.14),
        ("PS", 1.06),
        ("PET", 1.38),
        # Table 1 of PMC9088909, middle of the range printed.
        ("PE-HD", 0.959),
        ("PE-LD", 0.927),
    ],
)
def test_published_densities_decide_the_float_tests(tables: Tables, symbol: str, density: float) -> None:
    # Water 1.00 and saturated salt water 1.197 g/cm3 at 20 degC (CRC Handbook, 26 % NaCl; from memory).
    for test, liquid in (("float", 1.000), ("brine", 1.197)):
        results = tables.likelihoods[test][symbol].results
        assert max(results, key=lambda result: results[result]) == ("floats" if density < liquid else "sinks")
