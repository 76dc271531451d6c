"""Cross-cut classes against the printed table. Source in `data/adhesion.yaml`."""

from typing import Any

import pytest
from plastics_data import data_file

from planning.adhesion import astm_d3359_class, iso_2409_class, iso_2409_class_of

CLASSES = data_file("adhesion.yaml")["classes"]


@pytest.mark.parametrize("row", CLASSES, ids=lambda row: row["astm_d3359"])
def test_classes_run_in_opposite_directions(row: dict[str, Any]) -> None:
    assert astm_d3359_class(row["iso_2409"]) == row["astm_d3359"]
    assert iso_2409_class(row["astm_d3359"]) == row["iso_2409"]


@pytest.mark.parametrize("row", CLASSES, ids=lambda row: row["astm_d3359"])
def test_area_decides_the_class(row: dict[str, Any]) -> None:
    above, up_to = row["off_pct"]
    assert iso_2409_class_of(up_to) == row["iso_2409"]
    if above is not None:
        assert iso_2409_class_of(above + 0.01) == row["iso_2409"]
