from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient

from api.application import snapshot_of
from api.snapshot import use
from rules.loading import BASE_PACK, check_files, read_folder
from schemas.examples import FULL, MINIMAL


def explained(client: FlaskClient, body: dict[str, Any], query: str = "") -> tuple[Any, Any]:
    document = client.post("/v1/procedures", json=body).json
    assert document is not None
    response = client.get(document["links"]["explanation"] + query)
    assert response.status_code == 200, response.text
    return document, response.json


@pytest.mark.parametrize("body", [MINIMAL, FULL], ids=["minimal", "full"])
def test_every_stage_and_caution_is_traced_to_its_rules(client: FlaskClient, body: dict[str, Any]) -> None:
    document, explanation = explained(client, body)
    assert explanation["procedure"] == document["id"]
    assert explanation["pack"] == document["pack"]
    stages = {asked["name"]: [note["rule"] for note in asked["rules"]] for asked in explanation["stages"]}
    assert {stage["stage"]: stage["because"] for stage in document["stages"]} == stages
    assert {note["rule"] for note in explanation["disposition"]} == {
        reason["rule"] for reason in document["reasons"]
    }
    assert document["facts"].items() <= explanation["facts"].items()


def test_fired_and_not_fired_rules_are_all_the_rules(app: Flask, client: FlaskClient) -> None:
    _, explanation = explained(client, MINIMAL)
    asked = [entry for name in ("derived", "stages", "settings", "cautions") for entry in explanation[name]]
    fired = {note["rule"] for entry in asked for note in entry["rules"]}
    fired |= {note["rule"] for note in explanation["disposition"]}
    silent = {entry["rule"] for entry in explanation["not_fired"]}
    assert not fired & silent
    assert silent
    assert all(entry["failed"] and entry["failed_at"]["line"] for entry in explanation["not_fired"])
    assert fired | silent <= snapshot(app).pack.rules.keys()


def test_one_rule_can_be_asked_for(client: FlaskClient) -> None:
    _, whole = explained(client, MINIMAL)
    rule = whole["not_fired"][0]["rule"]
    _, one = explained(client, MINIMAL, f"?rule={rule}")
    assert [entry["rule"] for entry in one["not_fired"]] == [rule]
    assert not any(one[name] for name in ("disposition", "derived", "stages", "settings", "cautions"))
    decided = whole["disposition"][0]["rule"]
    _, other = explained(client, MINIMAL, f"?rule={decided}")
    assert [note["rule"] for note in other["disposition"]] == [decided]
    assert not other["not_fired"]


@pytest.mark.parametrize("body", [MINIMAL, FULL], ids=["minimal", "full"])
def test_the_smallest_change_fires_the_rule_when_it_is_posted(
    client: FlaskClient, body: dict[str, Any]
) -> None:
    _, whole = explained(client, body)
    assert not any("change" in entry for entry in whole["not_fired"])
    for silent in whole["not_fired"][::9]:
        (entry,) = explained(client, body, f"?rule={silent['rule']}")[1]["not_fired"]
        assert {**entry, "change": None} == {**silent, "change": None}
        _, after = explained(client, changed(body, entry["change"]), f"?rule={silent['rule']}")
        assert after["not_fired"] == []


def changed(body: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    """The line item with a change of facts made."""
    body = deepcopy(body)
    if change["material"] is not None:
        body["part"]["material"] = change["material"]
    for fact in change["facts"]:
        section, _, member = fact["given_as"].strip("/").partition("/")
        if not member.startswith("features/"):
            body.setdefault(section, {})[member] = fact["value"]
            continue
        feature = member.removeprefix("features/")
        stated = [each for each in body["part"].get("features", []) if each != feature]
        body["part"]["features"] = [*stated, feature] if fact["value"] else stated
    return body


def test_many_may_ask_at_once_what_would_fire_a_rule(app: Flask, client: FlaskClient) -> None:
    document, whole = explained(client, MINIMAL)
    rules = [entry["rule"] for entry in whole["not_fired"][:8]]

    def ask(rule: str) -> Any:
        return app.test_client().get(f"{document['links']['explanation']}?rule={rule}").json

    with ThreadPoolExecutor(4) as threads:
        answers = list(threads.map(ask, rules * 3))
    assert answers == [ask(rule) for rule in rules] * 3


def test_a_rule_that_is_none_is_refused_with_those_that_are_near(client: FlaskClient) -> None:
    document, whole = explained(client, MINIMAL)
    rule = whole["not_fired"][0]["rule"]
    response = client.get(f"{document['links']['explanation']}?rule={rule}x")
    assert response.status_code == 422
    assert response.json is not None
    (error,) = response.json["errors"]
    assert error["parameter"] == "rule"
    assert rule in error["accepted"]


def test_a_procedure_is_explained_by_the_pack_it_was_issued_under(tmp_path: Path) -> None:
    app = serving(tmp_path / "store.sqlite3")
    client = app.test_client()
    document, before = explained(client, MINIMAL)
    store = snapshot(app).store
    files = dict(read_folder(BASE_PACK))
    files["pack.yaml"] = files["pack.yaml"].replace("version: ", "version: 9")
    other = check_files([files]).pack
    assert other is not None
    store.keep_pack(other)
    use(app, snapshot_of(other, store))
    after = client.get(document["links"]["explanation"]).json
    assert after == before
    assert explained(client, MINIMAL)[1]["pack"]["version"].startswith("9")
    store.close()
