"""API1:2023 Broken Object Level Authorization (OWASP API Security Top 10, 2023), for rule packs: whether
another shop has one, and what is known of it, can't be told."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, store_of
from packs_at_hand import activate, etag, in_an_hour, in_force, issue, keep, told, version
from shop_packs_at_hand import house_rules, keep_for, listed, upload
from werkzeug.test import TestResponse

from rules.pack import Pack
from storage.shops import LOCAL

NOBODYS = "0" * 64
CALLS = (
    ("GET", ""),
    ("DELETE", ""),
    ("GET", "/files"),
    ("POST", "/renewal"),
    ("GET", "/proof"),
    ("POST", "/proof"),
    ("GET", "/impact"),
)


@pytest.fixture
def theirs(keyed: Flask, south: FlaskClient) -> Pack:
    """What the shop in the south works by."""
    pack = keep_for(keyed, SOUTH, house_rules(9))
    assert activate(south, pack.digest).status_code == 200
    return pack


def seen(response: TestResponse, digest: str) -> tuple[int, str, list[str]]:
    """Status, body and names of headers, without the digest that was asked for."""
    return response.status_code, response.text.replace(digest, "…"), sorted(response.headers.keys())


@pytest.mark.parametrize(("method", "place"), CALLS)
@pytest.mark.parametrize("shop", [NORTH, LOCAL])
def test_a_pack_of_another_shop_is_as_unknown_as_one_that_never_was(
    keyed: Flask, theirs: Pack, shop: str, method: str, place: str
) -> None:
    client = caller(keyed, shop)
    answers = [
        seen(client.open(f"/v1/packs/{digest}{place}", method=method), digest)
        for digest in (theirs.digest, NOBODYS)
    ]
    assert answers[0] == answers[1]
    assert answers[0][0] == 404
    assert store_of(keyed).packs.find(SOUTH, theirs.digest) is not None


@pytest.mark.parametrize("shop", [NORTH, LOCAL])
@pytest.mark.parametrize("later", [False, True])
def test_a_pack_of_another_shop_is_not_put_in_force(
    keyed: Flask, theirs: Pack, shop: str, later: bool
) -> None:
    client = caller(keyed, shop)
    body = {"effective_from": in_an_hour()} if later else {}
    before = client.get("/v1/packs/active").get_json()
    answers = [seen(activate(client, digest, **body), digest) for digest in (theirs.digest, NOBODYS)]
    assert answers[0] == answers[1]
    assert answers[0][0] == 422
    assert client.get("/v1/packs/active").get_json() == before


def test_lists_and_what_is_in_force_tell_nothing_of_others(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    def everything(client: FlaskClient) -> list[tuple[Any, str | None]]:
        paths = ("/v1/packs?limit=1", "/v1/packs?limit=100", "/v1/packs/active")
        answers = [client.get(path) for path in paths]
        return [(answer.get_json(), answer.headers["ETag"]) for answer in answers]

    before = everything(north), everything(local)
    for number in (5, 6):
        pack = keep_for(keyed, SOUTH, house_rules(number))
        activate(south, pack.digest)
    activate(south, pack.digest, effective_from=in_an_hour())
    upload(south, house_rules(7))
    assert (everything(north), everything(local)) == before
    assert len(listed(south)) == 4


def test_decisions_of_others_do_not_move_the_numbers_of_a_shop(
    keyed: Flask, north: FlaskClient, theirs: Pack
) -> None:
    response = activate(north, keep_for(keyed, NORTH, house_rules(5)).digest)
    assert response.get_json()["number"] == 1


def test_the_same_files_have_the_same_digest_in_each_shop_and_tell_nothing(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    """A digest is one of content: who writes the same files knows it, not whether others have them."""
    digest = upload(south, house_rules(5))
    assert south.post(f"/v1/packs/{digest}/proof").get_json()["passed"]
    assert activate(south, digest).status_code == 200
    told(north.get(f"/v1/packs/{digest}"), 404, "pack-unknown")
    mine = north.post("/v1/packs", json={"files": house_rules(5)})
    assert mine.status_code == 201
    document = mine.get_json()
    assert (document["digest"], document["proven"], document["active"]) == (digest, None, False)
    assert document["kept_at"] != south.get(f"/v1/packs/{digest}").get_json()["kept_at"]
    told(north.get(f"/v1/packs/{digest}/proof"), 404, "proof-unknown")
    told(activate(north, digest), 409, "pack-not-proven")
    assert north.delete(f"/v1/packs/{digest}").status_code == 204
    assert south.get(f"/v1/packs/{digest}/files").status_code == 200


def test_what_the_service_only_tries_out_is_its_own(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    """Other shops read what it has put in force, as their procedures cite it, and nothing else."""
    first, tried = in_force(local), keep(keyed, version(7))
    told(north.get(f"/v1/packs/{tried.digest}"), 404, "pack-unknown")
    second = keep(keyed, version(8))
    activate(local, second.digest)
    assert listed(north) == [second.digest, first]
    for digest in (first, second.digest):
        document = north.get(f"/v1/packs/{digest}").get_json()
        assert (document["of_service"], document["laid_on"]) == (True, None)
        assert north.get(f"/v1/packs/{digest}/files").status_code == 200
        assert north.get(f"/v1/packs/{digest}/impact").status_code == 200
    told(north.post(f"/v1/packs/{first}/proof"), 403, "service-only")
    told(north.post(f"/v1/packs/{first}/renewal"), 403, "service-only")


def test_an_impact_for_the_service_names_no_line_item_of_another_shop(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient, theirs: Pack
) -> None:
    issue(north, reference="secret")
    issue(south, reference="not concerned")
    candidate = keep(keyed, version(5))
    response = local.get(f"/v1/packs/{candidate.digest}/impact")
    assert response.get_json()["line_items"]["total"] == 1
    (change,) = response.get_json()["changes"]
    assert change["example"]["line_item"] is None
    assert "secret" not in response.text


def test_the_rules_of_a_shop_show_nowhere_in_what_another_is_answered(
    keyed: Flask, north: FlaskClient, south: FlaskClient, theirs: Pack
) -> None:
    procedure = issue(north)
    answers = [
        north.get(path)
        for path in (
            "/v1/stages",
            "/v1/vocabulary",
            f"/v1/procedures/{procedure['id']}",
            f"/v1/procedures/{procedure['id']}/explanation",
            "/readyz",
            "/openapi.json",
        )
    ]
    answers.append(north.post("/v1/identifications", json={"marking": ">PP<"}))
    for answer in answers:
        assert theirs.digest not in answer.text
        assert "house-coats" not in answer.text
    assert "house-coats" in south.get(f"/v1/procedures/{issue(south)['id']}/explanation").text


def test_a_tag_of_another_shop_changes_nothing(north: FlaskClient, south: FlaskClient, theirs: Pack) -> None:
    response = north.post("/v1/packs/active/rollback", headers={"If-Match": etag(south)})
    told(response, 412, "precondition-failed")
