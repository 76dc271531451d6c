"""The substrate table against properties printed elsewhere. Sources stand in `data/plastics.yaml`."""

import pytest
from plastics_data import base_substrates, data_file

PLASTICS = data_file("plastics.yaml")

DENSITIES = [
    pytest.param(symbol, density, id=f"{symbol} {density}")
    for group in PLASTICS["densities"]
    for symbol, density in group["g_per_cm3"].items()
]
MODULI = [
    pytest.param(symbol, *(1000 * gpa for gpa in bounds), id=f"{symbol} {bounds}")
    for group in PLASTICS["moduli"]
    for symbol, bounds in group["gpa"].items()
]


@pytest.mark.parametrize(("symbol", "density"), DENSITIES)
def test_density_agrees_within_one_percent(symbol: str, density: float) -> None:
    figure = base_substrates()[symbol].figures["density_g_per_cm3"]
    assert 0.99 * figure.low <= density <= 1.01 * figure.high


@pytest.mark.parametrize(("symbol", "low", "high"), MODULI)
def test_flexural_modulus_overlaps(symbol: str, low: float, high: float) -> None:
    figure = base_substrates()[symbol].figures["flexural_modulus_mpa"]
    assert figure.low <= high
    assert low <= figure.high


@pytest.mark.parametrize(("symbol", "low", "high"), MODULI)
def test_rigidity_class_is_that_of_the_printed_modulus(symbol: str, low: float, high: float) -> None:
    """ASTM D883 and ISO 472; within a tenth of a limit either class is right."""
    least, most = PLASTICS["rigidity_mpa"][base_substrates()[symbol].properties["flexibility"]]
    assert 0.9 * least <= (low + high) / 2 <= 1.1 * most


@pytest.mark.parametrize(("symbol", "printed"), PLASTICS["heat_deflection"]["celsius"].items())
def test_no_bake_limit_is_above_the_printed_heat_deflection(symbol: str, printed: list[float]) -> None:
    assert base_substrates()[symbol].properties["bake_limit_c"] <= printed[0]


@pytest.mark.parametrize(("symbol", "printed"), PLASTICS["surface_energy"]["mn_per_m"].items())
def test_surface_energy_range_holds_the_critical_surface_tension(symbol: str, printed: float) -> None:
    figure = base_substrates()[symbol].figures["surface_energy_mn_per_m"]
    assert figure.low <= printed <= figure.high


@pytest.mark.parametrize(("symbol", "held"), PLASTICS["trade"].items())
def test_the_table_says_what_the_trade_holds(symbol: str, held: dict[str, object]) -> None:
    """Common practice, no source."""
    properties = base_substrates()[symbol].properties
    assert {name: properties[name] for name in held} == held


def test_every_checked_figure_names_its_source() -> None:
    groups = [*PLASTICS["densities"], *PLASTICS["moduli"], PLASTICS["heat_deflection"]]
    groups += [PLASTICS["surface_energy"], *PLASTICS["constituents_g_per_cm3"].values()]
    assert all(group["source"].strip() for group in groups)
