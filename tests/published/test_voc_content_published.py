"""Contents of volatile organic compounds reckoned by hand from the definitions of 40 CFR 59.104(a).

Symbols read at http://edocket.access.gpo.gov/cfr_2003/julqtr/40cfr59.104.htm; the equations are printed
there as images, their form is from memory. The two-stage form is printed in rule 423 of San Luis Obispo
County,
https://www.arb.ca.gov/drdb/slo/suphtml/s423.htm.
"""

from __future__ import annotations

import pytest

from planning.emissions.content import Content, content_of, g_per_l, multi_stage_g_per_l
from rules.jurisdictions import Convention
from rules.pack import Component

TOTAL, LESS_WATER = Convention.TOTAL, Convention.LESS_WATER
LESS_BOTH = Convention.LESS_WATER_AND_EXEMPT


def of_masses(total_volatiles_g: float, water_g: float, exempt_g: float, exempt_density: float) -> Content:
    """A litre with Wv, Ww and Wec grams; water weighs 1 g/ml."""
    voc_g = total_volatiles_g - water_g - exempt_g
    return Content(voc_g, exempt_g, exempt_g / exempt_density, water_g)


def test_a_solvent_borne_litre_is_the_same_in_every_convention() -> None:
    """Wv 540 g, no water, nothing exempt: 540 / 1 = 540 g/L."""
    content = of_masses(540, 0, 0, 1)
    assert [g_per_l(content, each) for each in (TOTAL, LESS_WATER, LESS_BOTH)] == [540, 540, 540]


def test_a_waterborne_litre() -> None:
    """Wv 735 g of which 500 g water (0.5 L) and 79 g acetone (0.1 L at 0.79 g/ml): VOC 156 g.

    Total 156 g/L; less water and exempt (735 - 500 - 79) / (1 - 0.5 - 0.1) = 390 g/L; with acetone counted
    and water alone taken out, as in the European Union, (735 - 500) / (1 - 0.5) = 470 g/L.
    """
    content = of_masses(735, 500, 79, 0.79)
    assert g_per_l(content, TOTAL) == pytest.approx(156)
    assert g_per_l(content, LESS_BOTH) == pytest.approx(390)
    assert g_per_l(content, LESS_WATER, exempt_counts=True) == pytest.approx(470)


def test_a_mix_of_four_to_one_to_one_by_volume() -> None:
    """Base 420 g/L, hardener 300 g/L, reducer 480 g/L and half exempt: in 6 L 1680 + 300 + 480 = 2460 g.

    Total 2460 / 6 = 410 g/L; the reducer's 0.5 L of exempt compounds taken out 2460 / 5.5 = 447.27 g/L. Each
    mixing ratio is a coating of its own (40 CFR 59.102(b)): at two to one to one it is 1620 / 4 = 405 and
    1620 / 3.5 = 462.86.
    """

    def mixed(parts: int) -> Content:
        return content_of(
            (
                Component("base", "Base", parts, 1.2, 420, "base"),
                Component("hardener", "Hardener", 1, 1.0, 300, "hardener"),
                Component(
                    "reducer",
                    "Reducer",
                    1,
                    0.85,
                    480,
                    "reducer",
                    exempt_pct=50,
                    exempt_density_g_per_ml=0.79,
                ),
            )
        )

    assert g_per_l(mixed(4), TOTAL) == pytest.approx(410)
    assert g_per_l(mixed(4), LESS_BOTH) == pytest.approx(447.27, abs=0.005)
    assert g_per_l(mixed(2), TOTAL) == pytest.approx(405)
    assert g_per_l(mixed(2), LESS_BOTH) == pytest.approx(462.86, abs=0.005)


@pytest.mark.parametrize(
    ("base", "clear", "together"), [(780, 420, 540), (720, 540, 600), (420, 250, 306.67), (600, 600, 600)]
)
def test_a_two_stage_topcoat(base: float, clear: float, together: float) -> None:
    """(base + 2 x clear) / 3, as rule 423 prints it."""
    assert multi_stage_g_per_l(base, [], clear) == pytest.approx(together, abs=0.005)


def test_a_topcoat_with_midcoats() -> None:
    """(base + midcoats + 2 x clear) / (M + 3): with one midcoat (700 + 750 + 2 x 535) / 4 = 630.

    With two of them (700 + 700 + 750 + 2 x 500) / 5 = 630.
    """
    assert multi_stage_g_per_l(700, [750], 535) == pytest.approx(630)
    assert multi_stage_g_per_l(700, [700, 750], 500) == pytest.approx(630)
