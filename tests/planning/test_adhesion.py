"""Cross-cut classes of the two standards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.adhesion import astm_d3359_class, iso_2409_class, iso_2409_class_of

AREAS = st.floats(min_value=0, max_value=100)


@pytest.mark.parametrize("number", range(6))
def test_the_two_scales_map_back_onto_themselves(number: int) -> None:
    assert iso_2409_class(astm_d3359_class(number)) == number


@given(AREAS, AREAS)
def test_more_coating_off_is_never_a_better_class(first: float, second: float) -> None:
    less, more = sorted((first, second))
    assert iso_2409_class_of(less) <= iso_2409_class_of(more)
    assert astm_d3359_class(iso_2409_class_of(less)) >= astm_d3359_class(iso_2409_class_of(more))


@pytest.mark.parametrize("number", [-1, 6])
def test_no_class_beyond_the_ends(number: int) -> None:
    with pytest.raises(ValueError, match="0 \\(best\\) to 5"):
        astm_d3359_class(number)


@pytest.mark.parametrize("text", ["", "B", "6B", "5A", "5", "55B", "-1B"])
def test_other_texts_are_no_astm_class(text: str) -> None:
    with pytest.raises(ValueError, match="'5B' \\(best\\) to '0B'"):
        iso_2409_class(text)


@pytest.mark.parametrize("area", [-0.1, 100.1, float("nan")])
def test_no_area_beyond_the_lattice(area: float) -> None:
    with pytest.raises(ValueError, match="give 0 to 100"):
        iso_2409_class_of(area)
