from __future__ import annotations

from copy import deepcopy
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from schemas.examples import FULL, LINE_ITEMS, MINIMAL
from schemas.procedure.document import identifier_of

MEMBERS = {
    "id",
    "line_item",
    "pack",
    "disposition",
    "reasons",
    "assumptions",
    "cautions",
    "stages",
    "timeline",
    "totals",
    "materials",
    "emissions",
    "cost",
    "links",
}
STAGE_MEMBERS = {
    "position",
    "stage",
    "title",
    "instructions",
    "resource",
    "labour",
    "work_min",
    "wait_min",
    "window",
    "abrasive",
    "coats",
    "materials",
    "check",
    "cautions",
    "because",
}


def issued(client: FlaskClient, body: dict[str, Any] = MINIMAL) -> Any:
    response = client.post("/v1/procedures", json=body)
    assert response.status_code == 201, response.text
    return response.json


def of_reference(reference: str, **damage: Any) -> dict[str, Any]:
    body = deepcopy(MINIMAL)
    body["line_item"]["reference"] = reference
    body["damage"] |= damage
    return body


@pytest.mark.parametrize("name", LINE_ITEMS)
def test_a_line_item_is_answered_with_the_whole_contract(client: FlaskClient, name: str) -> None:
    response = client.post("/v1/procedures", json=LINE_ITEMS[name]["value"])
    assert response.status_code == 201
    assert response.json is not None
    assert response.json.keys() >= MEMBERS
    assert response.json["stages"]
    assert all(stage.keys() >= STAGE_MEMBERS for stage in response.json["stages"])
    assert response.location == f"/v1/procedures/{response.json['id']}"
    assert response.get_etag() == (response.json["id"], False)


def test_the_id_is_the_digest_of_the_content(client: FlaskClient) -> None:
    document = issued(client)
    assert document["id"] == identifier_of(document)


def test_the_same_content_has_the_same_id_and_other_content_another(client: FlaskClient) -> None:
    first = issued(client)
    assert issued(client) == first
    assert issued(client, {**MINIMAL, "finish": None})["id"] == first["id"]
    # Nothing but a fact differs, and no rule need tell 80 mm from 81 mm.
    assert issued(client, of_reference("RO-20417-3", length_mm=81))["id"] != first["id"]


def test_what_was_not_given_is_listed_as_an_assumption(client: FlaskClient) -> None:
    pointers = {assumed["pointer"]: assumed["value"] for assumed in issued(client)["assumptions"]}
    assert pointers["/damage/count"] == 1
    assert pointers["/part/features/radar_zone"] is False
    assert "/damage/length_mm" not in pointers
    given = {assumed["pointer"] for assumed in issued(client, FULL)["assumptions"]}
    assert not any(pointer.startswith(("/part/features", "/place")) for pointer in given)


def test_times_are_dated_and_money_is_text_when_they_are_given(client: FlaskClient) -> None:
    document = issued(client, FULL)
    assert document["timeline"]["start_at"] == "2027-03-02T08:15:00-06:00"
    assert document["timeline"]["finish_at"].endswith("-06:00")
    assert document["cost"]["replacement_part"] == "410.00"
    assert issued(client)["cost"] is None


def test_how_a_material_was_understood_is_said(client: FlaskClient) -> None:
    body = deepcopy(MINIMAL)
    body["part"]["material"] = ">PP+EPDM-T20<"
    document = issued(client, body)
    assert document["part"]["material"] == ">PP+EPDM-T20<"
    assert document["material"]["symbol"].startswith("PP+EPDM")


def test_a_procedure_is_read_back_exactly_as_issued(client: FlaskClient) -> None:
    document = issued(client, FULL)
    response = client.get(document["links"]["self"])
    assert response.status_code == 200
    assert response.json == document


def test_a_caller_that_has_it_gets_304(client: FlaskClient) -> None:
    document = issued(client)
    for link in document["links"].values():
        etag = client.get(link).headers["ETag"]
        again = client.get(link, headers={"If-None-Match": f'"other", {etag}'})
        assert (again.status_code, again.data) == (304, b"")
        assert again.headers["ETag"] == etag
        assert client.get(link, headers={"If-None-Match": '"other"'}).status_code == 200


def test_a_caller_that_wants_another_state_gets_a_problem(client: FlaskClient) -> None:
    other = client.get("/v1/vocabulary", headers={"If-Match": '"other"'})
    assert (other.status_code, other.mimetype) == (412, "application/problem+json")
    etag = client.get("/v1/vocabulary").headers["ETag"]
    assert client.get("/v1/vocabulary", headers={"If-Match": etag}).status_code == 200


def test_an_unknown_id_is_told(client: FlaskClient) -> None:
    for path in ("", "/timeline", "/explanation"):
        response = client.get(f"/v1/procedures/pr-0{path}")
        assert response.status_code == 404
        assert response.json is not None
        assert response.json["type"] == "/problems/procedure-unknown"
        assert "pr-0" in response.json["detail"]


def test_the_procedures_of_a_line_item_are_paged_last_first(client: FlaskClient) -> None:
    reference = "paged & found"
    ids = [issued(client, of_reference(reference, length_mm=length))["id"] for length in (20, 21, 22, 23, 24)]
    found, path = [], "/v1/procedures"
    query: dict[str, str] | None = {"line_item": reference, "limit": "2"}
    while path:
        response = client.get(path, query_string=query)
        assert response.status_code == 200
        assert response.json is not None
        assert len(response.json["items"]) <= 2
        found += [item["id"] for item in response.json["items"]]
        link = response.headers.get("Link", "")
        assert not link or link.endswith('>; rel="next"')
        path, query = link.removeprefix("<").partition(">")[0], None
    assert found == ids[::-1]


def test_a_line_item_without_procedures_has_an_empty_list(client: FlaskClient) -> None:
    response = client.get("/v1/procedures", query_string={"line_item": "never seen"})
    assert response.json == {"items": []}
    assert "Link" not in response.headers


@pytest.mark.parametrize(
    ("accept", "sent"),
    [
        (None, "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("image/svg+xml", "image/svg+xml"),
        ("image/*", "image/svg+xml"),
        ("application/json;q=0.2, image/svg+xml;q=0.9", "image/svg+xml"),
        ("application/json;q=0.9, image/svg+xml;q=0.2", "application/json"),
        ("application/json;q=0, image/svg+xml", "image/svg+xml"),
        ("text/html, */*;q=0.1", "application/json"),
        ("text/html", None),
        ("application/json;q=0", None),
        ("application/json;q=0, */*", "image/svg+xml"),
    ],
)
def test_a_timeline_comes_in_the_form_that_is_accepted(
    client: FlaskClient, accept: str | None, sent: str | None
) -> None:
    document = issued(client, FULL)
    response = client.get(document["links"]["timeline"], headers={"Accept": accept} if accept else {})
    assert "Accept" in response.vary
    if sent is None:
        assert response.status_code == 406
        assert "image/svg+xml" in response.text
        return
    assert (response.status_code, response.mimetype) == (200, sent)
    if sent == "image/svg+xml":
        assert ElementTree.fromstring(response.data).tag == "{http://www.w3.org/2000/svg}svg"
    else:
        assert response.json is not None
        assert response.json["procedure"] == document["id"]
        assert response.json["stages"] == document["timeline"]["stages"]


def test_drawing_and_json_have_different_entity_tags(client: FlaskClient) -> None:
    link = issued(client)["links"]["timeline"]
    drawn = client.get(link, headers={"Accept": "image/svg+xml"}).headers["ETag"]
    assert client.get(link).headers["ETag"] != drawn


def test_the_catalogue_explains_every_word_of_an_answer(client: FlaskClient) -> None:
    document = issued(client, FULL)
    keys = {
        "vocabulary": "fact",
        "substrates": "symbol",
        "stages": "stage",
        "cautions": "caution",
        "jurisdictions": "jurisdiction",
    }
    lists = {noun: client.get(f"/v1/{noun}").json for noun in keys}
    named = {noun: {item[keys[noun]] for item in (listed or {})["items"]} for noun, listed in lists.items()}
    assert document["facts"].keys() <= named["vocabulary"]
    assert document["material"]["symbol"] in named["substrates"]
    assert {stage["stage"] for stage in document["stages"]} <= named["stages"]
    assert {caution["caution"] for caution in document["cautions"]} <= named["cautions"]
    assert document["emissions"]["jurisdiction"] in named["jurisdictions"]
    assert all((listed or {})["pack"] == document["pack"] for listed in lists.values())
