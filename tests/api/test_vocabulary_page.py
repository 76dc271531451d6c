"""The page on free text: its code runs, its tables hold, and it never makes a plastic of a doubt."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from pages_at_hand import listening, prose_of, run_code, text_of

from rules.loading import BASE_PACK, load_folder
from rules.materials.resolve import UNKNOWN, MaterialUnknown, resolve
from rules.pack import Pack
from schemas.examples import MINIMAL

PAGE = "vocabulary.md"
PART = {"name": "front bumper cover", "condition": "factory_finish", "features": []}
CRACK = {"type": "crack", "length_mm": 80, "through": True, "backside_access": True}


@pytest.fixture(scope="module")
def code(app: Flask) -> Iterator[dict[str, Any]]:
    """What the code of the page defines, beside a service that it asks."""
    with listening(app) as address:
        yield run_code(PAGE, address)


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


def rows(heading: str) -> list[list[str]]:
    """The cells of the table with this heading, without backticks."""
    table = text_of(PAGE).partition(heading)[2].partition("\n\n")[0]
    lines = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| ")]
    return [[cell.strip().strip("`") for cell in line] for line in lines]


def issued(client: FlaskClient, material: str) -> Any:
    body = deepcopy(MINIMAL)
    body["part"]["material"] = material
    return client.post("/v1/procedures?dry_run=true", json=body)


def test_the_questions_are_the_facts_a_line_item_may_state(code: dict[str, Any], pack: Pack) -> None:
    assert set(code["questions"]) == {fact.given_as for fact in pack.vocabulary if fact.given_as}
    assert code["kinds_of_damage"] == pack.vocabulary["damage_type"].values


@pytest.mark.parametrize(("written", "send", "read_as"), rows("| written | send | read as |"))
def test_a_text_is_sent_and_read_as_the_page_says(
    client: FlaskClient, code: dict[str, Any], written: str, send: str, read_as: str
) -> None:
    assert code["material_of"](written) == send
    response = issued(client, send)
    assert response.status_code == 200
    assert response.json["material"]["symbol"] == read_as
    if send != written.strip():
        assert issued(client, written).status_code == 422, "it need not have been replaced"


def test_every_symbol_and_word_is_sent_as_it_is_and_read_as_its_row(code: dict[str, Any], pack: Pack) -> None:
    for row in pack.substrates.values():
        for word in (row.symbol, *row.aliases):
            for written in (word, word.upper(), f" {word.lower()} "):
                assert resolve(pack, code["material_of"](written)) == row


@given(text=st.text() | st.sampled_from(["TPO or PP", "no ABS", "PP/PE", "plastic", "unmarked", "?"]))
def test_whatever_is_written_a_material_is_sent_only_where_it_was_named(
    code: dict[str, Any], pack: Pack, text: str
) -> None:
    send = code["material_of"](text)
    assert send in (text.strip(), UNKNOWN)
    if not send.startswith(">"):
        assert resolve(pack, send)  # never a refusal


def test_a_marking_is_sent_even_where_it_cannot_be_read(
    client: FlaskClient, code: dict[str, Any], pack: Pack
) -> None:
    """So that its fault is told, with its position."""
    with pytest.raises(MaterialUnknown) as refusal:
        resolve(pack, code["material_of"](">PP+EPDM-<"))
    assert refusal.value.position is not None
    response = issued(client, ">PP+EPDM-<")
    assert (response.status_code, response.json["type"]) == (422, "/problems/material-unknown")
    assert f"position {refusal.value.position}" in response.text


@pytest.mark.parametrize(
    ("written", "proposed"), re.findall(r"`([^`]+)` it proposes `([^`]+)`", prose_of(PAGE))
)
def test_what_is_proposed_by_spelling_is_as_misleading_as_the_page_says(
    client: FlaskClient, written: str, proposed: str
) -> None:
    response = issued(client, written)
    assert response.status_code == 422
    assert response.json["errors"][0]["accepted"] == [proposed]


def test_two_misleading_proposals_are_shown() -> None:
    assert len(re.findall(r"`([^`]+)` it proposes `([^`]+)`", prose_of(PAGE))) == 2


def test_every_kind_of_damage_is_proposed_once(pack: Pack) -> None:
    proposed = [row[1] for row in rows("| people write | propose | ask |")]
    assert sorted(proposed) == sorted(pack.vocabulary["damage_type"].values)


def test_the_damage_that_only_a_new_part_lacks_is_taken_as_the_page_says(client: FlaskClient) -> None:
    body = deepcopy(MINIMAL) | {"damage": {"type": "none"}}
    body["part"]["condition"] = "replacement"
    assert client.post("/v1/procedures?dry_run=true", json=body).status_code == 200


def technician(wanted: dict[str, str]) -> Any:
    """Somebody who does these tests, with these results, and no other."""

    def do(test: dict[str, Any], cautions: list[Any]) -> str | None:
        assert {caution["caution"] for caution in cautions} >= set(test["cautions"])
        result = wanted.get(test["test"])
        assert result is None or result in [each["result"] for each in test["results"]]
        return result

    return do


def test_a_test_that_settles_the_procedure_gives_a_material_to_send(
    client: FlaskClient, code: dict[str, Any]
) -> None:
    found = code["identify"](technician({"sanding": "smears"}), part=PART, damage=CRACK)
    assert found != UNKNOWN
    told = client.post(
        "/v1/identifications", json={"part": PART, "damage": CRACK, "tests": {"sanding": "smears"}}
    ).json
    assert told is not None
    assert told["candidates"][0]["probability"] < 0.5, "it is one of several that get the same procedure"


@pytest.mark.parametrize("results", [{}, {"sanding": "black_fibres"}])
def test_a_doubt_that_stays_is_sent_as_unknown(code: dict[str, Any], results: dict[str, str]) -> None:
    assert code["identify"](technician(results), part=PART, damage=CRACK) == UNKNOWN


def test_what_unknown_does_is_what_the_page_says(client: FlaskClient) -> None:
    response = issued(client, UNKNOWN)
    body = deepcopy(MINIMAL) | {"damage": {"type": "gouge", "length_mm": 80, "depth_mm": 2}}
    known, unknown = (
        client.post(
            "/v1/procedures?dry_run=true", json={**body, "part": {**body["part"], "material": each}}
        ).json
        for each in ("ABS", UNKNOWN)
    )
    assert response.status_code == 200
    assert len(unknown["stages"]) > len(known["stages"])  # type: ignore[index]  # a 200 has a body
    assert any("not known" in reason["text"] for reason in unknown["reasons"])  # type: ignore[index]


def test_a_list_of_features_states_each_and_none_assumes_them(client: FlaskClient) -> None:
    def assumed(part: dict[str, Any]) -> set[str]:
        body = deepcopy(MINIMAL)
        body["part"] |= part
        answer: Any = client.post("/v1/procedures?dry_run=true", json=body).json
        return {each["pointer"] for each in answer["assumptions"]}

    feature = "/part/features/airbag_cover"
    assert feature in assumed({})
    assert feature not in assumed({"features": []})
    body = deepcopy(MINIMAL)
    del body["part"]["condition"]
    assert client.post("/v1/procedures", json=body).status_code == 422
