"""A shop's own overlay: uploaded, proven, put in force, changed back and renewed by the shop itself."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, key, store_of, with_key
from packs_at_hand import (
    activate,
    coats,
    etag,
    in_an_hour,
    in_force,
    issue,
    keep,
    line_item,
    make_due,
    overlay,
    told,
    version,
)
from shop_packs_at_hand import house_rules, keep_for, superseded, upload
from sqlalchemy import select
from werkzeug.test import TestResponse

from api.packs.at_work import active_pack
from storage.shops import LOCAL
from storage.tables import audit


def active(client: FlaskClient) -> Any:
    return client.get("/v1/packs/active").get_json()


def roll_back(client: FlaskClient) -> TestResponse:
    return client.post("/v1/packs/active/rollback", headers={"If-Match": etag(client)})


def test_a_shop_takes_an_overlay_the_whole_way_by_its_own_key(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    issue(north, reference="R1")
    digest, before = upload(north, house_rules(5)), in_force(north)
    told(activate(north, digest), 409, "pack-not-proven")
    proof = north.post(f"/v1/packs/{digest}/proof").get_json()
    assert proof["passed"], proof
    assert north.get(f"/v1/packs/{digest}/proof").get_json() == proof
    impact = north.get(f"/v1/packs/{digest}/impact").get_json()
    assert (impact["line_items"]["changed"], impact["changes"][0]["example"]["line_item"]) == (1, "R1")
    response = activate(north, digest)
    assert response.status_code == 200, response.text
    document = response.get_json()
    assert (document["pack"]["digest"], document["number"], document["origin"]) == (digest, 1, "api")
    assert document["follows_service"] is False
    assert document["laid_on"] == {
        "pack": document["previous"]["pack"],
        "service": document["previous"]["pack"],
        "behind": False,
    }
    assert (document["previous"]["pack"]["digest"], document["previous"]["follows_service"]) == (before, True)
    assert superseded(keyed) == [(NORTH, "R1")]
    assert coats(issue(north)) == [5]
    assert coats(issue(south)) == [2]
    assert roll_back(north).get_json()["pack"]["digest"] == before
    assert coats(issue(north)) == [2]


def test_all_that_a_shop_asks_is_answered_by_its_own_rules(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    stage = (
        "stages:\n  - {id: house-polish, title: Polish, phase: prime, resource: bench, labour: refinish,"
        " instructions: [Polish it.], work: {fixed_min: 3}, source: house rule of an invented shop}\n"
    )
    rule = (
        "  - {id: polish, when: {airbag_cover: false}, require: [house-polish], why: It shines.,"
        " source: house rule of an invented shop}\n"
    )
    pack = keep_for(keyed, NORTH, overlay(rule, stages=stage))
    activate(north, pack.digest)
    for noun in ("vocabulary", "substrates", "stages", "cautions", "jurisdictions"):
        assert north.get(f"/v1/{noun}").get_json()["pack"]["digest"] == pack.digest
        assert south.get(f"/v1/{noun}").get_json()["pack"]["digest"] == in_force(local)
    procedure = issue(north)
    assert "house-polish" in [each["stage"] for each in procedure["stages"]]
    explained = north.get(f"/v1/procedures/{procedure['id']}/explanation").get_json()
    assert explained["pack"]["digest"] == pack.digest
    assert north.get("/v1/estimates/house-polish").status_code == 200
    assert south.get("/v1/estimates/house-polish").status_code == 404
    batch = {"line_items": [line_item("B1")]}
    (result,) = north.post("/v1/procedures/batch", json=batch).get_json()["results"]
    assert result["pack"]["digest"] == pack.digest
    # What is open to all stays that of the service.
    for open_to_all in ("/readyz", "/openapi.json"):
        for client in (north, keyed.test_client()):
            assert pack.digest not in client.get(open_to_all).text
    assert "house-polish" not in north.get("/openapi.json").text
    # What was issued is explained by its own pack, whatever is in force since.
    roll_back(north)
    assert north.get(f"/v1/procedures/{procedure['id']}/explanation").get_json() == explained


def test_the_pack_of_a_shop_is_an_overlay_on_that_of_the_service(keyed: Flask, north: FlaskClient) -> None:
    """No shop works by other trade rules than those of the service."""
    problem = told(north.post("/v1/packs", json={"files": version(7)}), 422, "pack-refused")
    assert "write 'extends: small'" in problem["detail"]
    alien = keep_for(keyed, NORTH, house_rules(3))
    with store_of(keyed)._engine.begin() as connection:
        connection.exec_driver_sql(f"UPDATE kept_packs SET laid_on = '{alien.digest}' WHERE shop = 'north'")
    problem = told(activate(north, alien.digest), 422, "body-refused")
    assert problem["errors"][0]["pointer"] == "/digest"
    assert "not laid on a pack that the service has put in force" in problem["errors"][0]["detail"]


def test_an_overlay_is_laid_on_all_that_the_service_has_in_force(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    """Also on the rules that whoever runs the service has added for all."""
    for_all = overlay(changes="amend: {stages: {wash: {work: {fixed_min: 7}}}}\n")
    for_all["pack.yaml"] = for_all["pack.yaml"].replace("name: shop", "name: for-all")
    service = upload(local, for_all)
    store_of(keyed).packs.keep_proof(LOCAL, service, True, {"passed": True})
    activate(local, service)
    told(north.post("/v1/packs", json={"files": house_rules(5)}), 422, "pack-refused")
    mine = house_rules(5)
    mine["pack.yaml"] = mine["pack.yaml"].replace("extends: small", "extends: for-all")
    digest = upload(north, mine)
    layers = north.get(f"/v1/packs/{digest}/files").get_json()["layers"]
    assert [each["name"] for each in layers] == ["small", "for-all", "shop"]
    assert north.get(f"/v1/packs/{digest}").get_json()["laid_on"] == service
    assert north.post(f"/v1/packs/{digest}/proof").get_json()["passed"]
    assert activate(north, digest).status_code == 200
    (wash, _) = issue(north)["stages"]
    assert wash["work_min"]["p50"] == issue(local)["stages"][0]["work_min"]["p50"]
    assert coats(issue(north)) == [5]


def test_who_is_behind_is_told_and_lays_the_overlay_on_the_new_pack_in_one_call(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    activate(north, mine.digest)
    before, newer = in_force(local), keep(keyed, {**version(2), "more.yaml": "cases: []\n"})
    activate(local, newer.digest)
    assert coats(issue(north)) == [5]
    document = active(north)
    assert document["pack"]["digest"] == mine.digest
    laid_on = document["laid_on"]
    assert (laid_on["pack"]["digest"], laid_on["service"]["digest"]) == (before, newer.digest)
    assert laid_on["behind"] is True
    assert active(south)["laid_on"] is None
    response = north.post(f"/v1/packs/{mine.digest}/renewal")
    assert response.status_code == 201, response.text
    renewed = response.get_json()
    assert renewed["laid_on"] == newer.digest
    assert renewed["digest"] != mine.digest
    assert response.headers["Location"] == renewed["links"]["self"]
    assert active(north)["pack"]["digest"] == mine.digest
    told(activate(north, renewed["digest"]), 409, "pack-not-proven")
    store_of(keyed).packs.keep_proof(NORTH, renewed["digest"], True, {"passed": True})
    assert activate(north, renewed["digest"]).get_json()["laid_on"]["behind"] is False
    assert north.post(f"/v1/packs/{renewed['digest']}/renewal").get_json() == {
        **renewed,
        "active": True,
        "proven": True,
    }


def test_an_overlay_that_does_not_fit_the_new_pack_says_where(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    files = version(2)
    text = files["rules/all.yaml"].replace("promote-low-energy-plastics", "promote-polyolefins")
    activate(local, keep(keyed, {**files, "rules/all.yaml": text}).digest)
    problem = told(north.post(f"/v1/packs/{mine.digest}/renewal"), 422, "pack-refused")
    (error,) = problem["errors"]
    assert (error["pointer"], error["line"]) == ("/files/rules.yaml", 5)
    assert "promote-low-energy-plastics" in error["detail"]


def test_a_shop_follows_the_service_again_and_tells_so(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    activate(north, mine.digest)
    issue(north, reference="R1")
    problem = told(activate(north, in_force(local)), 422, "body-refused")
    assert "write null" in problem["errors"][0]["detail"]
    response = activate(north, None)
    assert response.status_code == 200, response.text
    document = response.get_json()
    assert document["pack"] == active(local)["pack"]
    assert (document["follows_service"], document["laid_on"]) == (True, None)
    assert document["previous"]["pack"]["digest"] == mine.digest
    assert superseded(keyed) == [(NORTH, "R1")]
    active_pack(keyed).follow()
    assert superseded(keyed) == [(NORTH, "R1")]
    service = keep(keyed, version(4))
    activate(local, service.digest)
    assert coats(issue(north)) == [4]
    assert in_force(north) == service.digest
    assert roll_back(north).get_json()["pack"]["digest"] == mine.digest
    assert coats(issue(north)) == [5]


def test_the_service_has_nobody_to_follow(local: FlaskClient) -> None:
    problem = told(activate(local, None), 422, "body-refused")
    assert problem["errors"][0]["pointer"] == "/digest"


def test_a_rollback_stays_within_the_shop(keyed: Flask, north: FlaskClient, local: FlaskClient) -> None:
    activate(local, keep(keyed, version(4)).digest)
    told(roll_back(north), 409, "nothing-to-go-back-to")
    first, second = (keep_for(keyed, NORTH, house_rules(number)) for number in (5, 6))
    service = in_force(local)
    for pack in (first, second):
        activate(north, pack.digest)
    for expected in (first.digest, second.digest):
        assert roll_back(north).get_json()["pack"]["digest"] == expected
    activate(north, None)
    for expected in (second.digest, service):
        assert roll_back(north).get_json()["pack"]["digest"] == expected
    assert in_force(local) == service


def test_an_overlay_for_later_takes_force_at_its_moment_for_its_shop(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    mine = keep_for(keyed, NORTH, house_rules(5))
    issue(north, reference="R1")
    issue(south, reference="R1")
    response = activate(north, mine.digest, effective_from=in_an_hour())
    assert response.status_code == 200
    assert response.get_json()["follows_service"] is True
    (upcoming,) = response.get_json()["upcoming"]
    assert (upcoming["pack"]["digest"], upcoming["follows_service"]) == (mine.digest, False)
    assert active(south)["upcoming"] == []
    active_pack(keyed).follow()
    assert coats(issue(north, reference="R2")) == [2]
    later = (datetime.now(UTC) + timedelta(hours=2)).isoformat()
    as_of = north.get("/v1/packs/active", query_string={"as_of": later}).get_json()
    assert as_of["pack"]["digest"] == mine.digest
    make_due(keyed, 1, NORTH)
    active_pack(keyed).follow()
    assert coats(issue(north, reference="R3")) == [5]
    assert coats(issue(south, reference="R3")) == [2]
    assert sorted(superseded(keyed)) == [(NORTH, "R1"), (NORTH, "R2")]


def test_what_the_service_has_decided_for_later_is_upcoming_for_who_follows_it_until_then(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    service, mine = keep(keyed, version(4)), keep_for(keyed, NORTH, house_rules(5))
    moments = [(datetime.now(UTC) + timedelta(hours=hours)).isoformat() for hours in (1, 2, 3)]
    activate(local, service.digest, effective_from=moments[0])
    activate(north, mine.digest, effective_from=moments[1])
    activate(local, keep(keyed, version(6)).digest, effective_from=moments[2])
    document = active(north)
    assert [each["pack"]["digest"] for each in document["upcoming"]] == [service.digest, mine.digest]
    assert [each["follows_service"] for each in document["upcoming"]] == [True, False]


def test_what_the_service_has_decided_for_later_is_upcoming_for_who_follows_it_again_by_then(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    mine, service = keep_for(keyed, NORTH, house_rules(5)), keep(keyed, version(4))
    moments = [(datetime.now(UTC) + timedelta(hours=hours)).isoformat() for hours in (1, 2)]
    activate(north, mine.digest)
    activate(north, None, effective_from=moments[0])
    activate(local, service.digest, effective_from=moments[1])
    followed, changed = active(north)["upcoming"]
    assert followed["pack"] == active(local)["pack"]
    assert (changed["pack"]["digest"], changed["follows_service"]) == (service.digest, True)
    activate(north, mine.digest)
    assert active(north)["upcoming"] == []


def test_the_tag_is_that_of_the_shop(keyed: Flask, north: FlaskClient, south: FlaskClient) -> None:
    mine, tag, theirs = keep_for(keyed, NORTH, house_rules(5)), etag(north), etag(south)
    activate(north, mine.digest)
    assert (etag(north) != tag, etag(south) == theirs) == (True, True)
    response = north.put("/v1/packs/active", json={"digest": mine.digest}, headers={"If-Match": tag})
    told(response, 412, "precondition-failed")
    told(north.put("/v1/packs/active", json={"digest": None}), 428, "precondition-required")
    # What the shop follows is part of what it has seen.
    tag = etag(south)
    activate(caller(keyed, LOCAL), keep(keyed, version(4)).digest)
    told(
        south.put("/v1/packs/active", json={"digest": None}, headers={"If-Match": tag}),
        412,
        "precondition-failed",
    )


def test_a_decision_of_the_service_tells_those_that_follow_it_alone(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    activate(north, keep_for(keyed, NORTH, house_rules(5)).digest)
    for client in (north, south, local):
        issue(client, reference="R1")
    candidate = keep(keyed, version(4))
    impact = local.get(f"/v1/packs/{candidate.digest}/impact").get_json()
    assert impact["line_items"]["total"] == 2
    activate(local, candidate.digest)
    active_pack(keyed).follow()
    assert sorted(superseded(keyed)) == [(LOCAL, "R1"), (SOUTH, "R1")]


def test_the_audit_says_which_shop_and_key(keyed: Flask) -> None:
    written = key(keyed, NORTH)
    north = with_key(keyed, written)
    digest = upload(north, house_rules(5))
    store_of(keyed).packs.keep_proof(NORTH, digest, True, {"passed": True})
    activate(north, digest)
    north.delete(f"/v1/packs/{upload(north, house_rules(6))}")
    with store_of(keyed)._engine.connect() as connection:
        entries = [json.loads(entry) for entry in connection.scalars(select(audit.c.entry))]
    for action in ("pack.kept", "pack.activated", "pack.forgotten"):
        entry = next(each for each in reversed(entries) if each["action"] == action)
        assert entry["shop"] == NORTH
        assert entry["by"] == {"shop": NORTH, "key": written.prefix}
    assert store_of(keyed).audit.verify().faults == ()


def test_a_sandbox_works_by_the_rules_of_its_shop_and_shows_in_no_impact(
    keyed: Flask, north: FlaskClient
) -> None:
    sandbox = with_key(keyed, key(keyed, NORTH, "line-items", sandbox=True))
    issue(sandbox, reference="tried")
    mine = keep_for(keyed, NORTH, house_rules(5))
    impact = north.get(f"/v1/packs/{mine.digest}/impact").get_json()
    assert impact["line_items"]["total"] == 0
    activate(north, mine.digest)
    assert coats(issue(sandbox)) == [5]
    assert superseded(keyed) == [("north~sandbox", "tried")]
