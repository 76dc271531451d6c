from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import (
    activate,
    coats,
    etag,
    gap,
    in_an_hour,
    in_force,
    is_closed,
    issue,
    keep,
    line_item,
    make_due,
    superseded,
    told,
    version,
)
from werkzeug.test import TestResponse

from api.issuing import issue as issue_for
from api.packs.at_work import active_pack
from api.packs.proving import proof_of
from api.snapshot import current
from schemas.line_item.body import ProcedureRequest
from storage.shops import LOCAL


def test_the_pack_of_the_folder_is_in_force_at_first(service: Flask, shop: FlaskClient) -> None:
    response = shop.get("/v1/packs/active")
    assert response.json is not None
    assert response.json["pack"]["digest"] == snapshot(service).pack.digest
    assert (response.json["number"], response.json["origin"]) == (1, "start")
    assert (response.json["previous"], response.json["upcoming"]) == (None, [])
    again = shop.get("/v1/packs/active", headers={"If-None-Match": response.headers["ETag"]})
    assert again.status_code == 304


def test_a_proven_pack_is_put_in_force_for_every_request_that_begins(
    service: Flask, shop: FlaskClient
) -> None:
    assert coats(issue(shop)) == [2]
    pack = keep(service, version(3))
    response = activate(shop, pack.digest)
    assert response.status_code == 200, response.text
    assert response.json is not None
    assert response.json["pack"]["digest"] == pack.digest
    assert response.json["previous"]["number"] == 1
    assert response.headers["ETag"] == etag(shop)
    document = issue(shop)
    assert (document["pack"]["digest"], coats(document)) == (pack.digest, [3])
    for noun in ("vocabulary", "substrates", "stages", "cautions"):
        assert (shop.get(f"/v1/{noun}").json or {})["pack"]["digest"] == pack.digest
    assert (shop.get("/readyz").json or {})["pack"]["digest"] == pack.digest
    assert (shop.get(f"/v1/packs/{pack.digest}").json or {})["active"] is True


@pytest.mark.parametrize("call", ["put", "rollback"])
@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (None, 428),
        ("", 412),
        ('"activation-0-0"', 412),
        ('"activation-9-9"', 412),
        ("activation-2-2", 200),  # many a client leaves the quotes out
        ('W/"activation-2-2"', 412),
        ('"activation-2-2"', 200),
        ('"other", "activation-2-2"', 200),
        ("*", 200),
    ],
)
def test_who_has_not_seen_what_is_in_force_changes_nothing(
    service: Flask, shop: FlaskClient, call: str, sent: str | None, status: int
) -> None:
    first = snapshot(service).pack
    second = keep(service, version(3))
    assert activate(shop, second.digest).status_code == 200
    headers = {} if sent is None else {"If-Match": sent}
    if call == "put":
        keep(service, version(2))  # proven
        response = shop.put("/v1/packs/active", json={"digest": first.digest}, headers=headers)
    else:
        response = shop.post("/v1/packs/active/rollback", headers=headers)
    assert response.status_code == status, response.text
    assert in_force(shop) == (first.digest if status == 200 else second.digest)
    if status != 200:
        slug = "precondition-required" if status == 428 else "precondition-failed"
        told(response, status, slug)


def test_a_tag_is_good_for_one_decision(service: Flask, shop: FlaskClient) -> None:
    pack, tag = keep(service, version(3)), etag(shop)
    sent = {"json": {"digest": pack.digest}, "headers": {"If-Match": tag}}
    assert shop.put("/v1/packs/active", **sent).status_code == 200
    told(shop.put("/v1/packs/active", **sent), 412, "precondition-failed")
    tag = etag(shop)
    assert activate(shop, pack.digest, effective_from=in_an_hour()).status_code == 200
    assert etag(shop) != tag


def test_a_pack_that_is_not_proven_is_refused_with_the_faults_and_no_engine_is_built_for_it(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = in_force(shop)
    pack = keep(service, gap(), proven=False)
    monkeypatch.setattr(active_pack(service)._service, "build", None)
    problem = told(activate(shop, pack.digest), 409, "pack-not-proven")
    assert f"POST /v1/packs/{pack.digest}/proof" in problem["detail"]
    snapshot(service).store.packs.keep_proof(LOCAL, pack.digest, False, proof_of([gap()]))
    problem = told(activate(shop, pack.digest), 409, "pack-not-proven")
    (error,) = problem["errors"]
    assert error["code"] == "R601"
    assert error["file"] == "pack.yaml"
    assert "airbag_cover = true" in error["detail"]
    assert in_force(shop) == before
    assert snapshot(service).pack.digest == before


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/digest"),
        ({"digest": 7}, "/digest"),
        ({"digest": "0" * 64}, "/digest"),
        ({"digest": "\N{AUTOMOBILE}"}, "/digest"),
        ({"digest": "x", "now": True}, "/now"),
        ({"digest": "KNOWN", "effective_from": "tomorrow"}, "/effective_from"),
        ({"digest": "KNOWN", "effective_from": "2026-11-01T00:00:00Z"}, "/effective_from"),
        ({"digest": "KNOWN", "effective_from": "2027-02-30T00:00:00Z"}, "/effective_from"),
    ],
)
def test_a_body_that_cannot_be_used_is_refused_at_its_place(
    service: Flask, shop: FlaskClient, body: dict[str, Any], pointer: str
) -> None:
    if body.get("digest") == "KNOWN":
        body = {**body, "digest": keep(service, version(3)).digest}
    response = shop.put("/v1/packs/active", json=body, headers={"If-Match": "*"})
    problem = told(response, 422, "body-refused")
    assert pointer in [error["pointer"] for error in problem["errors"]]


def test_a_pack_is_in_force_only_while_it_holds_by_its_own_dates(service: Flask, shop: FlaskClient) -> None:
    files = version(3)
    later = files["pack.yaml"].replace("effective_from: 2026-01-01", "effective_from: 2199-01-01")
    problem = told(
        activate(shop, keep(service, {**files, "pack.yaml": later}).digest), 409, "pack-out-of-date"
    )
    assert "2199-01-01" in problem["detail"]
    ended = files["pack.yaml"].replace("effective_until: null", "effective_until: 2026-01-02")
    told(activate(shop, keep(service, {**files, "pack.yaml": ended}).digest), 409, "pack-out-of-date")


def test_rollback_goes_back_in_one_call_and_forward_again(service: Flask, shop: FlaskClient) -> None:
    first, second = snapshot(service).pack, keep(service, version(3))
    told(
        shop.post("/v1/packs/active/rollback", headers={"If-Match": etag(shop)}), 409, "nothing-to-go-back-to"
    )
    activate(shop, second.digest)
    for expected in (first, second, first):
        response = shop.post("/v1/packs/active/rollback", headers={"If-Match": etag(shop)})
        assert response.status_code == 200
        assert in_force(shop) == expected.digest
        assert issue(shop)["pack"]["digest"] == expected.digest


def test_rollback_drops_what_was_still_to_come(service: Flask, shop: FlaskClient) -> None:
    first, second, third = snapshot(service).pack, keep(service, version(3)), keep(service, version(4))
    activate(shop, second.digest)
    activate(shop, third.digest, effective_from=in_an_hour())
    shop.post("/v1/packs/active/rollback", headers={"If-Match": etag(shop)})
    response = shop.get("/v1/packs/active")
    assert response.json is not None
    assert (response.json["pack"]["digest"], response.json["upcoming"]) == (first.digest, [])


def test_a_pack_for_later_takes_force_at_its_moment(service: Flask, shop: FlaskClient) -> None:
    first, later = snapshot(service).pack, keep(service, version(3))
    issue(shop, reference="R1")
    moment = in_an_hour()
    response = activate(shop, later.digest, effective_from=moment)
    assert response.status_code == 200
    assert response.json is not None
    assert response.json["pack"]["digest"] == first.digest
    (upcoming,) = response.json["upcoming"]
    assert upcoming["pack"]["digest"] == later.digest
    assert datetime.fromisoformat(upcoming["effective_from"]) == datetime.fromisoformat(moment)
    active_pack(service).follow()
    assert (in_force(shop), superseded(service)) == (first.digest, [])
    issue(shop, reference="R2")
    make_due(service, 2)
    active_pack(service).follow()
    assert in_force(shop) == snapshot(service).pack.digest == later.digest
    assert coats(issue(shop, reference="R3")) == [3]
    assert sorted(superseded(service)) == ["R1", "R2"]


def test_what_is_in_force_as_of_a_moment_is_told(service: Flask, shop: FlaskClient) -> None:
    first, later = snapshot(service).pack, keep(service, version(3))
    activate(shop, later.digest, effective_from="2199-01-01T00:00:00+00:00")

    def as_of(moment: str) -> TestResponse:
        return shop.get("/v1/packs/active", query_string={"as_of": moment})

    for moment, expected in (
        ("2198-12-31T23:59:59+00:00", first),
        ("2199-01-01T00:00:00+00:00", later),
        ("2198-12-31T20:00:00-06:00", later),
    ):
        response = as_of(moment)
        assert response.json is not None
        assert response.json["pack"]["digest"] == expected.digest
        assert response.json["as_of"] == moment
    told(as_of("2020-01-01T00:00:00+00:00"), 422, "query-refused")
    told(as_of("yesterday"), 422, "query-refused")


def test_line_items_whose_procedure_changes_are_told_and_no_others(service: Flask, shop: FlaskClient) -> None:
    issue(shop, reference="promoted")
    issue(shop, reference="not promoted", material="ABS")
    issue(shop, reference="issued again and again")
    issue(shop, reference="issued again and again")
    pack = keep(service, version(3))
    activate(shop, pack.digest)
    active_pack(service).follow()
    assert sorted(superseded(service)) == ["issued again and again", "promoted"]
    issue(shop, reference="promoted")
    response = activate(shop, keep(service, version(4)).digest)
    assert response.status_code == 200
    # Both are told again, of the new activation: each has another procedure once more.
    assert sorted(superseded(service)[2:]) == ["issued again and again", "promoted"]


def test_a_request_under_way_ends_with_the_pack_it_began_with_and_its_line_item_is_told(
    service: Flask, shop: FlaskClient
) -> None:
    pack = keep(service, version(3))
    first = snapshot(service)
    with service.test_request_context("/"):
        assert current() is first
        activate(shop, pack.digest)
        # The engine of the first pack is still open to this request.
        kept = issue_for(ProcedureRequest().load(line_item("under way")), current())
        assert kept.pack_digest == first.pack.digest
        assert superseded(service) == []
    active_pack(service).follow()
    assert superseded(service) == ["under way"]
    assert is_closed(first.decider.engine)
    assert not is_closed(snapshot(service).decider.engine)
