"""What a hostile or clumsy shop does with rule packs does not hurt the others."""

from __future__ import annotations

from dataclasses import replace

import pytest
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH
from packs_at_hand import WornOut, activate, in_an_hour, in_force, keep, line_item, told, version
from shop_packs_at_hand import house_rules, keep_for, listed, upload

from api.packs.at_work import active_pack, at_work, keep_at_work
from api.running.wearing import leave_if_worn_out
from api.settings import Settings
from storage.shops import LOCAL


def test_a_pack_that_was_only_tried_out_is_deleted(
    keyed: Flask, north: FlaskClient, local: FlaskClient
) -> None:
    digest = upload(north, house_rules(5))
    assert north.delete(f"/v1/packs/{digest}").status_code == 204
    told(north.delete(f"/v1/packs/{digest}"), 404, "pack-unknown")
    assert digest not in listed(north)
    used = keep_for(keyed, NORTH, house_rules(6))
    activate(north, used.digest, effective_from=in_an_hour())
    told(north.delete(f"/v1/packs/{used.digest}"), 409, "pack-in-use")
    told(north.delete(f"/v1/packs/{in_force(local)}"), 403, "service-only")
    told(local.delete(f"/v1/packs/{in_force(local)}"), 409, "pack-in-use")


def test_a_shop_keeps_so_many_packs_and_the_service_as_many_as_it_likes(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    assert at_work(keyed).most_packs == Settings().max_packs_of_shop
    keep_at_work(keyed, replace(at_work(keyed), most_packs=2))
    first, second = (upload(north, house_rules(coats)) for coats in (5, 6))
    problem = told(north.post("/v1/packs", json={"files": house_rules(7)}), 409, "too-many-packs")
    assert "keeps 2 packs" in problem["detail"]
    assert upload(north, house_rules(6)) == second
    for client in (south, local):
        assert upload(client, house_rules(7)) not in listed(north)
    activate(local, keep(keyed, {**version(2), "more.yaml": "cases: []\n"}).digest)
    told(north.post(f"/v1/packs/{first}/renewal"), 409, "too-many-packs")
    assert north.delete(f"/v1/packs/{second}").status_code == 204
    assert north.post(f"/v1/packs/{first}/renewal").status_code == 201
    for coats in (7, 8, 9):
        upload(local, house_rules(coats))


def test_a_shop_proves_and_reads_in_one_pack_at_a_time_and_holds_up_nobody_else(
    keyed: Flask, north: FlaskClient, south: FlaskClient, local: FlaskClient
) -> None:
    mine, theirs = (keep_for(keyed, shop, house_rules(5), proven=False) for shop in (NORTH, SOUTH))
    work = at_work(keyed)
    with work.proofs.of(NORTH), work.others.of(NORTH):
        refused = [
            (north.post(f"/v1/packs/{mine.digest}/proof"), "proof-running"),
            (north.post("/v1/packs", json={"files": house_rules(6)}), "pack-work-running"),
            (north.post(f"/v1/packs/{mine.digest}/renewal"), "pack-work-running"),
            (north.get(f"/v1/packs/{mine.digest}/impact"), "pack-work-running"),
            (activate(north, None), "pack-work-running"),
        ]
        for response, slug in refused:
            told(response, 429, slug)
            assert int(response.headers["Retry-After"]) > 0
        assert south.post(f"/v1/packs/{theirs.digest}/proof").get_json()["passed"]
        assert south.get(f"/v1/packs/{theirs.digest}/impact").status_code == 200
        assert local.post("/v1/packs", json={"files": version(9)}).status_code == 201
        with work.proofs.of("another"):
            told(south.post(f"/v1/packs/{theirs.digest}/proof"), 429, "proof-running")
    assert north.get(f"/v1/packs/{mine.digest}/impact").status_code == 200


def test_shops_that_prove_do_not_hold_up_the_service(
    keyed: Flask, south: FlaskClient, local: FlaskClient
) -> None:
    """Nor the other way round: of its proofs no shop learns anything."""
    theirs = keep_for(keyed, SOUTH, house_rules(5), proven=False)
    service, proofs = keep(keyed, version(4), proven=False), at_work(keyed).proofs
    with proofs.of("one"), proofs.of("another"):
        assert local.post(f"/v1/packs/{service.digest}/proof").get_json()["passed"]
    with proofs.of("one"), proofs.of(LOCAL):
        assert south.post(f"/v1/packs/{theirs.digest}/proof").get_json()["passed"]
        told(local.post(f"/v1/packs/{service.digest}/proof"), 429, "proof-running")


def test_an_engine_of_a_shop_that_is_worn_out_stops_that_shop_and_its_process_is_replaced(
    keyed: Flask, north: FlaskClient, south: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    activate(north, keep_for(keyed, NORTH, house_rules(5)).digest)
    ended: list[str] = []
    leave_if_worn_out(keyed, lambda: ended.append("before"))
    (snapshot,) = active_pack(keyed).shops.loaded()
    monkeypatch.setattr(snapshot.decider, "engine", WornOut())
    told(north.post("/v1/procedures", json=line_item()), 503, "engine-worn-out")
    assert south.post("/v1/procedures", json=line_item()).status_code == 201
    leave_if_worn_out(keyed, lambda: ended.append("after"))
    assert ended == ["after"]
