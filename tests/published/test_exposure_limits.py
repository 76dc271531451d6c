"""Exposure limits, and the cautions that quote them. Sources in `data/exposure_limits.yaml`."""

import pytest
from exposure_figures import AUTHORITIES, LIMITS, QUOTED, unsupported_figures
from plastics_data import base_pack, data_file

LITRES_PER_MOL = 24.45
"""Of a gas at 25 °C and 760 torr, the convention of 29 CFR 1910.1000."""

VACATED = data_file("exposure_limits.yaml")["vacated_osha_ppm"]
BOTH_UNITS = [
    pytest.param(limit, kind, id=f"{limit['substance']} {kind}")
    for limit in LIMITS
    for kind in limit["osha"].get("mg_per_m3", {})
    if "ppm" in limit["osha"]
]


@pytest.mark.parametrize(("limit", "kind"), BOTH_UNITS)
def test_limits_printed_in_both_units_agree(limit: dict, kind: str) -> None:
    mg_per_m3 = limit["osha"]["ppm"][kind] * limit["g_per_mol"] / LITRES_PER_MOL
    assert mg_per_m3 == pytest.approx(limit["osha"]["mg_per_m3"][kind], rel=0.05)


def test_short_and_dangerous_limits_are_above_the_mean_of_a_shift() -> None:
    for limit in LIMITS:
        for authority in AUTHORITIES:
            for figures in limit.get(authority, {}).values():
                mean = figures.get("twa", 0)
                above = [
                    figures[kind] for kind in ("short_term", "ceiling", "peak", "idlh") if kind in figures
                ]
                assert all(figure > mean for figure in above), limit["substance"]
                assert figures.get("action", 0) <= mean or "action" not in figures


@pytest.mark.parametrize("substance", VACATED)
def test_no_vacated_limit_stands_as_the_present_one(substance: str) -> None:
    present = next(limit["osha"]["ppm"]["twa"] for limit in LIMITS if limit["substance"] == substance)
    assert present != VACATED[substance]


def test_every_limit_names_its_source() -> None:
    assert all(limit["source"].strip() for limit in LIMITS)


@pytest.mark.parametrize(
    ("text", "unsupported"),
    [
        ("OSHA holds styrene to 100 ppm as a mean, NIOSH to 50 ppm.", []),
        ("OSHA: acetone 1,000 ppm. NIOSH: HDI 0.005 ppm; MDI 0.02 ppm.", []),
        ("OSHA holds acetone to 750 ppm.", ["750 ppm"]),
        ("NIOSH: HDI 0.05 ppm.", ["0.05 ppm"]),
        ("OSHA: HDI 0.005 ppm.", ["0.005 ppm"]),
        ("Keep solvent under 100 ppm.", ["100 ppm"]),
        ("OSHA: dust 10 mg/m3.", ["10 mg/m3"]),
        ("OSHA: acetone 200 ppm, methyl ethyl ketone 1000 ppm.", ["200 ppm", "1000 ppm"]),
    ],
)
def test_a_figure_that_no_limit_bears_out_is_found(text: str, unsupported: list[str]) -> None:
    assert unsupported_figures(text) == unsupported


def test_the_subject_counts_where_the_sentence_names_no_substance() -> None:
    assert unsupported_figures("OSHA: 100 ppm as a mean.", subject="Styrene from resin") == []
    assert unsupported_figures("OSHA: 100 ppm as a mean.", subject="Acetone") == ["100 ppm"]


def test_every_exposure_figure_in_a_caution_is_a_published_limit() -> None:
    quoted = 0
    for caution in base_pack().cautions.values():
        for text in (caution.hazard, caution.protect, caution.first_measure, caution.defer, caution.source):
            assert unsupported_figures(text, caution.title) == [], caution.id
            quoted += len(QUOTED.findall(text))
    assert quoted > 0
