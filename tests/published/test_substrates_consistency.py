"""The substrate table against itself: classes against the figures they stand for."""

import re

import pytest
from plastics_data import base_substrates, data_file, middle

from rules.pack import Substrate

PLASTICS = data_file("plastics.yaml")
FILLED = re.compile(r"(?P<base>.+)-(?P<filler>T|GF)(?P<percent>\d\d)")
CONSTITUENTS = {"T": "talc", "GF": "E-glass"}


def rows() -> list[Substrate]:
    return [row for row in base_substrates().values() if row.symbol != "unknown"]


def density_of_mix(base: float, filler: float, percent: float) -> float:
    """Volumes add: 1/density = w/filler + (1 - w)/base."""
    return 1 / (percent / 100 / filler + (1 - percent / 100) / base)


def in_water(row: Substrate) -> str:
    density = row.figures["density_g_per_cm3"]
    if density.high < 1.0:
        return "floats"
    return "sinks" if density.low > 1.0 else "either"


def class_fault(name: str, figure_name: str, limits: dict[str, list[float]], row: Substrate) -> str | None:
    """A class must overlap the figure's range and must not be above the class of its middle."""
    figure = row.figures[figure_name]
    low, high = limits[str(row.properties[name])]
    if figure.high < low or high < figure.low:
        return f"{row.symbol}: {row.properties[name]} does not overlap {figure.low:g} to {figure.high:g}"
    if middle(figure) < low:
        return f"{row.symbol}: {row.properties[name]} although the middle is {middle(figure):g}"
    return None


def faults(name: str, figure_name: str, limits: dict[str, list[float]]) -> list[str]:
    found = (class_fault(name, figure_name, limits, row) for row in rows())
    return [fault for fault in found if fault]


def test_the_table_is_as_wide_as_the_trade_needs() -> None:
    assert len(rows()) >= 36


def test_flexibility_is_the_class_of_the_modulus_or_a_softer_one() -> None:
    """Limits of ISO 472 and ASTM D883: 70 and 700 MPa."""
    assert faults("flexibility", "flexural_modulus_mpa", PLASTICS["rigidity_mpa"]) == []


def test_surface_energy_is_the_class_of_the_figures_or_a_lower_one() -> None:
    assert faults("surface_energy", "surface_energy_mn_per_m", PLASTICS["surface_energy_classes"]) == []


def test_a_class_above_its_figures_is_found() -> None:
    row = base_substrates()["PE-LD"]
    stiff = Substrate(row.symbol, row.name, {**row.properties, "flexibility": "rigid"}, figures=row.figures)
    assert class_fault("flexibility", "flexural_modulus_mpa", PLASTICS["rigidity_mpa"], stiff)


def test_density_of_filled_grades_follows_from_their_constituents() -> None:
    """To half a unit of the last place printed, on the computed ends of the unfilled range."""
    table = base_substrates()
    checked = 0
    for row in rows():
        match = FILLED.fullmatch(row.symbol)
        if match is None:
            continue
        filler = PLASTICS["constituents_g_per_cm3"][CONSTITUENTS[match["filler"]]]["density"]
        base = table[match["base"]].figures["density_g_per_cm3"]
        density = row.figures["density_g_per_cm3"]
        percent = float(match["percent"])
        computed = [density_of_mix(end, filler, percent) for end in (base.low, base.high)]
        assert [density.low, density.high] == pytest.approx(computed, abs=0.0051), row.symbol
        assert density.evidence.startswith("computed from")
        checked += 1
    assert checked >= 10


def test_talc_sinks_polypropylene_from_about_14_percent() -> None:
    """PP 0.905 and talc 2.75 g/cm3: the mix reaches 1.000 at a mass fraction of 0.142 (computed)."""
    assert density_of_mix(0.905, 2.75, 14.2) == pytest.approx(1.0, abs=5e-4)
    table = base_substrates()
    seen = [in_water(table[f"PP+EPDM-T{percent}"]) for percent in (10, 15, 20, 30, 40)]
    assert seen == ["floats", "either", "sinks", "sinks", "sinks"]


def test_only_polyolefins_float() -> None:
    assert {row.symbol for row in rows() if in_water(row) == "floats"} == {
        "PP", "PE-HD", "PE-LD", "PP+EPDM", "PP+EPDM-T10", "TPV",
    }  # fmt: skip


def test_what_notes_say_of_floating_agrees_with_the_density() -> None:
    told = {"Floats in water": "floats", "Sinks in water": "sinks", "Floats or sinks": "either"}
    checked = 0
    for row in rows():
        for note in row.notes:
            for start, behaviour in told.items():
                if note.startswith(start):
                    assert in_water(row) == behaviour, row.symbol
                    checked += 1
    assert checked >= 5


def test_no_bake_limit_is_above_the_heat_deflection_or_the_glass_transition() -> None:
    """The low end of heat deflection binds; without one, the low end of a glass transition above 20 °C."""
    for row in rows():
        limit = row.properties["bake_limit_c"]
        deflection, transition = row.figures.get("heat_deflection_c"), row.figures.get("glass_transition_c")
        if deflection is not None and row.properties["matrix"] != "thermoset":
            assert limit <= deflection.low, row.symbol
        elif deflection is not None:
            assert limit <= deflection.high, row.symbol
        elif transition is not None and transition.low > 20:
            assert limit <= transition.low, row.symbol


def test_forming_lies_between_the_bake_limit_and_melting() -> None:
    for row in rows():
        start, end = float(row.properties["reshape_from_c"]), float(row.properties["reshape_to_c"])
        if not row.properties["reshapeable"]:
            assert (start, end) == (0, 0), row.symbol
            continue
        assert row.properties["bake_limit_c"] < start < end, row.symbol
        if "melting_c" in row.figures:
            assert end < row.figures["melting_c"].low, row.symbol
        elif "glass_transition_c" in row.figures:
            assert end < row.figures["glass_transition_c"].high + 20, row.symbol


def test_only_unreinforced_thermoplastics_are_welded_or_reshaped() -> None:
    for row in rows():
        if row.properties["weldable"] or row.properties["reshapeable"]:
            assert (row.properties["matrix"], row.properties["fibre"]) == ("thermoplastic", "none"), (
                row.symbol
            )


def test_a_repairable_plastic_can_be_bonded_or_welded() -> None:
    for row in rows():
        if row.properties["repairability"] == "repairable":
            assert row.properties["bonds"] != "poorly" or row.properties["weldable"], row.symbol


def test_what_is_low_in_surface_energy_never_bonds_readily() -> None:
    assert [
        r.symbol
        for r in rows()
        if r.properties["surface_energy"] == "low" and r.properties["bonds"] == "readily"
    ] == []


def test_what_is_not_rigid_gives_in_use() -> None:
    assert [
        r.symbol
        for r in rows()
        if r.properties["flexibility"] != "rigid" and not r.properties["gives_in_use"]
    ] == []


def test_fibre_is_told_by_the_symbol() -> None:
    for row in rows():
        expected = {"GF": "glass", "CF": "carbon"}
        told = re.search(r"-(GF|CF)\d*$", row.symbol)
        assert row.properties["fibre"] == (expected[told[1]] if told else "none"), row.symbol


def test_the_unknown_plastic_takes_the_more_careful_truth_values() -> None:
    unknown = base_substrates()["unknown"].properties
    assert all(unknown[name] is True for name in ("gives_in_use", "stress_cracks", "swells", "outgasses"))
    assert all(unknown[name] is False for name in ("reshapeable", "weldable"))


def test_the_unknown_plastic_is_baked_no_hotter_than_any_and_wets_no_better() -> None:
    unknown = base_substrates()["unknown"].properties
    assert unknown["bake_limit_c"] == min(row.properties["bake_limit_c"] for row in rows())
    assert unknown["surface_energy"] == "low"
    assert unknown["bonds"] != "readily"


def test_every_figure_has_a_range_and_evidence() -> None:
    known = (
        "from memory",
        "common practice",
        "computed from",
        "ACS Omega",
        "Crawford",
        "Encyclopaedia Britannica",
    )
    for row in rows():
        assert {"density_g_per_cm3", "flexural_modulus_mpa", "surface_energy_mn_per_m"} <= row.figures.keys()
        for figure in row.figures.values():
            assert figure.low <= figure.high, row.symbol
            assert figure.evidence.startswith(known), row.symbol
