"""P-grades against what is printed elsewhere. Sources in `data/abrasives.yaml`."""

from itertools import pairwise

import pytest
from plastics_data import data_file

from planning.abrasives import grades, particle_size_um, step_ratio

PRINTED = data_file("abrasives.yaml")


@pytest.mark.parametrize(("grade", "printed_um"), PRINTED["ends"]["particle_um"].items())
def test_ends_of_macrogrits_and_microgrits(grade: str, printed_um: float) -> None:
    assert particle_size_um(grade) == pytest.approx(printed_um, abs=0.11)


def test_neighbours_differ_about_as_neighbouring_sieves_do() -> None:
    """Sieves of ISO 565 R 20/3 are 1.41 apart, those of R 20 are 1.12 apart; no gap in the table is wider."""
    assert all(1.1 < step_ratio(coarser, finer) < 1.45 for coarser, finer in pairwise(grades()))


def test_coarse_grades_agree_with_the_scale_without_p() -> None:
    cami = PRINTED["cami_um"]["particle_um"]
    assert particle_size_um("P60") == pytest.approx(cami[60], rel=0.05)
    assert particle_size_um("P80") == pytest.approx(cami[80], rel=0.05)


def test_fine_grades_part_from_the_scale_without_p() -> None:
    """CAMI 400 is about P800 and far finer than P400; of the common grades only P1200 is clearly finer."""
    cami = PRINTED["cami_um"]["particle_um"]
    pair = PRINTED["cami_400"]
    assert particle_size_um(pair["about"]) == pytest.approx(cami[400], rel=0.1)
    assert particle_size_um("P400") > 1.4 * cami[400]
    assert particle_size_um(pair["finer"]) < 0.75 * cami[400]
