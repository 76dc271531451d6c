"""What the place of the shop does to an answer: verdicts, cautions that the law adds, refusals."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from schemas.examples import FULL

PLACES = ("us-federal", "us-california-scaqmd", "eu")
SPRAYING = {"spray-booth-filters", "spray-gun-transfer", "trained-painters", "spray-records", "target-metals"}


def line_item(place: str | None) -> dict[str, Any]:
    return {**FULL, "part": {**FULL["part"], "features": []}, "jurisdiction": place}


def issued(client: FlaskClient, place: str | None) -> dict[str, Any]:
    response = client.post("/v1/procedures", json=line_item(place))
    assert response.status_code == 201, response.text
    document: dict[str, Any] = response.json or {}
    return document


def cautions_of(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {caution["caution"]: caution for caution in document["cautions"]}


def declared(client: FlaskClient) -> dict[str, dict[str, Any]]:
    items = (client.get("/v1/jurisdictions").json or {})["items"]
    return {item["jurisdiction"]: item for item in items}


def test_the_catalogue_lists_jurisdictions_with_their_limits(client: FlaskClient) -> None:
    listed = declared(client)
    assert listed.keys() == set(PLACES)
    limits = {each["category"]: each["limit_g_per_l"] for each in listed["eu"]["categories"]}
    assert limits["d-topcoat"] == 420
    assert listed["us-california-scaqmd"]["within"] == "us-federal"
    assert "acetone" in listed["us-federal"]["exempt_compounds"]
    assert listed["eu"]["exempt_compounds"] == []


@pytest.mark.parametrize("place", PLACES)
def test_every_verdict_refers_to_what_the_catalogue_lists(client: FlaskClient, place: str) -> None:
    listed, emissions = declared(client), issued(client, place)["emissions"]
    assert emissions["jurisdiction"] == place
    assert listed[place]["edition"] in emissions["limits"]
    held = [mix["held"] for mix in emissions["mixes"] if mix["held"]]
    assert len(held) >= 5
    for each in held:
        categories = {row["category"]: row for row in listed[each["jurisdiction"]]["categories"]}
        row = categories[each["category"]]
        assert (float(each["limit_g_per_l"]), each["convention"]) == (row["limit_g_per_l"], row["convention"])
        if each["value_g_per_l"] is not None:
            assert each["over"] == (float(each["value_g_per_l"]) > row["limit_g_per_l"])


@pytest.mark.parametrize("place", PLACES)
def test_what_is_over_is_warned_of_on_the_stages_that_use_it(client: FlaskClient, place: str) -> None:
    document = issued(client, place)
    over = {mix["material"] for mix in document["emissions"]["mixes"] if mix["held"] and mix["held"]["over"]}
    users = {stage["stage"] for stage in document["stages"] if over.intersection(stage["materials"])}
    carriers = {stage["stage"] for stage in document["stages"] if "voc-over-limit" in stage["cautions"]}
    assert carriers == users
    assert bool(over) == ("voc-over-limit" in cautions_of(document))
    for mix in document["emissions"]["mixes"]:
        assert (mix["told"] or "").count("over the limit") == (mix["material"] in over)


@pytest.mark.parametrize("place", ["us-federal", "us-california-scaqmd"])
def test_spraying_in_the_united_states_carries_its_duties(client: FlaskClient, place: str) -> None:
    document = issued(client, place)
    cautions = cautions_of(document)
    sprayed = {stage["stage"] for stage in document["stages"] if "spray-mist" in stage["cautions"]}
    assert sprayed >= {"primer-surfacer", "basecoat", "clearcoat"}
    for name in SPRAYING:
        assert set(cautions[name]["stages"]) == sprayed
        assert "jurisdiction us-federal" in cautions[name]["because"]
    assert "gun-cleaning-without-mist" in cautions
    assert "diisocyanate-training" not in cautions


def test_isocyanates_in_the_european_union_carry_the_duty_of_training(client: FlaskClient) -> None:
    cautions = cautions_of(issued(client, "eu"))
    assert cautions["diisocyanate-training"]["stages"] == cautions["isocyanates"]["stages"]
    assert "jurisdiction eu" in cautions["diisocyanate-training"]["because"]
    assert not SPRAYING.intersection(cautions)


def test_without_a_jurisdiction_nothing_is_assessed_and_so_it_says(client: FlaskClient) -> None:
    document = issued(client, None)
    emissions = document["emissions"]
    assert emissions["jurisdiction"] is None
    assert emissions["limits"].startswith("Not assessed")
    assert all(mix["held"] is mix["told"] is None for mix in emissions["mixes"])
    assert not {*SPRAYING, "diisocyanate-training", "voc-over-limit"}.intersection(cautions_of(document))
    assert all("jurisdiction" not in asker for each in document["cautions"] for asker in each["because"])


def test_an_unknown_jurisdiction_is_refused_with_those_that_are_known(client: FlaskClient) -> None:
    response = client.post("/v1/procedures", json=line_item("us-federl"))
    assert response.status_code == 422
    (error,) = (response.json or {})["errors"]
    assert (error["pointer"], error["value"]) == ("/jurisdiction", "us-federl")
    assert error["accepted"] == list(PLACES)
    assert "did you mean 'us-federal'?" in error["detail"]


def test_the_same_job_elsewhere_is_another_answer_of_the_same_work(client: FlaskClient) -> None:
    here, there = issued(client, "us-federal"), issued(client, "eu")
    assert here["id"] != there["id"]
    assert [stage["stage"] for stage in here["stages"]] == [stage["stage"] for stage in there["stages"]]
    assert here["emissions"]["voc_total_g"] == there["emissions"]["voc_total_g"]


def test_the_description_names_the_jurisdictions(client: FlaskClient) -> None:
    schemas = (client.get("/openapi.json").json or {})["components"]["schemas"]
    named, none = schemas["ProcedureRequest"]["properties"]["jurisdiction"]["anyOf"]
    assert (named["enum"], none) == ([*PLACES], {"type": "null"})
