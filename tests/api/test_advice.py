"""Costs and advice over the wire."""

from __future__ import annotations

from copy import deepcopy
from decimal import Decimal
from typing import Any

from flask.testing import FlaskClient

from schemas.examples import FULL, PRICED


def issued(client: FlaskClient, body: dict[str, Any]) -> dict[str, Any]:
    answer = client.post("/v1/procedures", json=body)
    assert answer.status_code == 201, answer.json
    document: dict[str, Any] = answer.json
    return document


def priced(**changes: Any) -> dict[str, Any]:
    body = deepcopy(PRICED)
    body["rates"] |= changes
    return body


def sum_of(items: list[dict[str, str]]) -> Decimal:
    return sum((Decimal(item["amount"]) for item in items), Decimal(0))


def test_a_priced_repair_is_weighed_against_the_new_part(client: FlaskClient) -> None:
    document = issued(client, PRICED)
    assert document["disposition"] == "repair"
    cost = document["cost"]
    repair, replacement = cost["alternatives"]["repair"], cost["alternatives"]["replacement"]
    assert Decimal(cost["total"]) == sum_of(cost["items"])
    assert Decimal(cost["total"]) == Decimal(cost["labour_total"]) + Decimal(cost["materials_total"])
    for alternative in (repair, replacement):
        assert Decimal(alternative["total"]) == sum_of(alternative["items"])
    assert replacement["supplied_as"] == "primed"
    assert {item["kind"] for item in replacement["items"]} == {
        "part", "disposal", "fitting", "labour", "material", "calibration",
    }  # fmt: skip
    assert repair["stages"] == [stage["stage"] for stage in document["stages"]]
    assert replacement["elapsed_min"]["p50"] > 3 * 24 * 60
    advice = cost["advice"]
    assert advice["advised"] in ("repair", "replace")
    saving = Decimal(replacement["expected"]["p50"]) - Decimal(repair["expected"]["p50"])
    assert Decimal(advice["saving"]) == saving
    assert Decimal(advice["threshold_part_price"]) == Decimal("240.00") - saving
    assert advice["policies"][0]["policy"] == "repair-when-cheaper-more-often-than-not"


def test_the_advice_follows_the_price_and_the_disposition_does_not(client: FlaskClient) -> None:
    cheap, dear = (issued(client, priced(replacement_part=price)) for price in ("1.00", "9000.00"))
    assert [document["cost"]["advice"]["advised"] for document in (cheap, dear)] == ["replace", "repair"]
    assert cheap["cost"]["advice"]["probability_repair_cheaper"] < 0.5
    assert dear["cost"]["advice"]["probability_repair_cheaper"] == 1
    assert cheap["cost"]["advice"]["saving"].startswith("-")
    assert cheap["disposition"] == dear["disposition"] == "repair"
    assert cheap["stages"] == dear["stages"]


def test_a_part_that_the_rules_replace_is_never_advised_to_be_repaired(client: FlaskClient) -> None:
    document = issued(client, FULL)
    assert document["disposition"] == "replace"
    advice = document["cost"]["advice"]
    assert advice["advised"] == "replace"
    assert document["reasons"][0]["text"] in advice["because"][0]
    assert document["cost"]["alternatives"]["repair"] is None


def test_in_a_currency_without_decimals_every_amount_is_whole(client: FlaskClient) -> None:
    yen = priced(
        currency="JPY",
        labour_per_hour={"body": "8123.5", "refinish": "7950"},
        replacement_part="31000",
        replacement_disposal="900",
        sensor_calibration={"parking_sensor_zone": "6000"},
    )
    cost = issued(client, yen)["cost"]
    assert "whole units of JPY" in cost["rounding"]
    amounts = [item["amount"] for item in cost["alternatives"]["replacement"]["items"]]
    assert [cost["total"], *amounts] == [amount for amount in [cost["total"], *amounts] if "." not in amount]


def test_a_price_that_means_nothing_is_refused_at_its_place(client: FlaskClient) -> None:
    body = priced(
        materials={"clearcot": {"price": "72.00", "per": "litre"}},
        sensor_calibration={"parking_sensor_zone": "45.001"},
    )
    answer = client.post("/v1/procedures", json=body)
    assert answer.status_code == 422
    told = {error["pointer"]: error["detail"] for error in answer.json["errors"]}
    assert "did you mean 'clearcoat'?" in told["/rates/materials/clearcot"]
    assert "has more decimals than USD" in told["/rates/sensor_calibration/parking_sensor_zone"]
