from __future__ import annotations

from typing import Any

import pytest
from marshmallow import ValidationError

from schemas.identification_request import IdentificationRequest, evidence_of, states_line_item


def loaded(body: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = IdentificationRequest().load(body)
    return found


def test_evidence_leaves_out_tests_that_were_not_done() -> None:
    body = loaded({"marking": ">PP<", "tests": {"float": "sinks", "flex": None}, "part": {"name": "bumper"}})
    evidence = evidence_of(body)
    assert (evidence.marking, dict(evidence.tests), evidence.part) == (">PP<", {"float": "sinks"}, "bumper")


@pytest.mark.parametrize(
    ("body", "stated"),
    [
        ({}, False),
        ({"part": {"name": "bumper"}, "damage": None}, False),
        ({"part": {"name": "bumper", "condition": None}}, False),
        ({"part": {"features": []}}, True),
        ({"part": {"unheard_of": 1}}, True),
        ({"damage": {}}, True),
        ({"place": {"forced_dry": "none"}}, True),
    ],
)
def test_a_line_item_is_stated_by_anything_beside_the_name_of_the_part(
    body: dict[str, Any], stated: bool
) -> None:
    assert states_line_item(loaded(body)) is stated


def test_faults_of_names_and_of_values_are_of_one_place() -> None:
    with pytest.raises(ValidationError) as refused:
        loaded({"tests": {"x" * 61: "sinks", "float": ["sinks"]}})
    assert refused.value.messages == {
        "tests": {"x" * 61: ["must have 1 to 60 characters"], "float": ["must be text"]}
    }


def test_the_material_is_not_for_the_asker_to_say() -> None:
    with pytest.raises(ValidationError) as refused:
        loaded({"part": {"name": "bumper", "material": "PP"}})
    assert list(refused.value.messages_dict["part"]) == ["material"]
