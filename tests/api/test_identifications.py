from __future__ import annotations

import dataclasses
import random
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from small_pack import small_pack

from rules.materials.identification.reading import load_tables
from schemas.identification_examples import FOR_A_LINE_ITEM, MARKED, TESTED

Json = dict[str, Any]
PATH = "/v1/identifications"

CRACK: Json = {"type": "crack", "length_mm": 80, "through": True, "backside_access": True}
GRILLE: Json = {"name": "radiator grille", "condition": "factory_finish", "features": []}


def identified(client: FlaskClient, body: Json) -> Json:
    response = client.post(PATH, json=body)
    assert response.status_code == 200, response.text
    assert response.json is not None
    return response.json  # type: ignore[no-any-return]


def refusal(client: FlaskClient, body: Json, kind: str = "evidence-refused") -> list[Json]:
    response = client.post(PATH, json=body)
    assert response.status_code == 422, response.text
    assert response.json is not None
    assert response.json["type"] == f"/problems/{kind}"
    errors: list[Json] = response.json["errors"]
    return errors


def test_a_marking_settles_what_matters(client: FlaskClient) -> None:
    answer = identified(client, MARKED)
    assert answer["candidates"][0]["material"] == "PP+EPDM-T20"
    assert answer["candidates"][0]["probability"] > 0.95
    assert "marking >PP+EPDM-T20< speaks for it" in answer["candidates"][0]["evidence"][0]
    assert answer["procedure_differs"] is False
    assert answer["next_test"] is None
    assert answer["stops"]["reason"] == "settled"
    assert answer["cautious"] is None
    assert answer["agreed"]["surface_energy"] == "low"
    assert answer["agreed"]["bake_limit_c"] == {"at_least": 80, "below": None}
    assert answer["open"] == {}


def test_bench_tests_rank_materials_and_say_what_is_agreed_and_what_is_open(client: FlaskClient) -> None:
    answer = identified(client, TESTED)
    assert answer["part"] == "bumper cover"
    ranked = [candidate["probability"] for candidate in answer["candidates"]]
    assert ranked == sorted(ranked, reverse=True)
    assert 0.99 < sum(ranked) <= 1.0001
    assert answer["agreed"]["surface_energy"] == "low"
    assert answer["procedure_differs"] is True
    assert not answer["agreed"].keys() & answer["open"].keys()
    values = [held["probability"] for held in answer["open"]["bake_limit_c"]]
    assert values == sorted(values, reverse=True)
    assert max(values) < 0.95


def test_the_next_test_says_how_it_is_done_unhurt_and_what_may_be_reported(client: FlaskClient) -> None:
    answer = identified(client, FOR_A_LINE_ITEM)
    test = answer["next_test"]
    assert test["about"] in ("procedure", "stages", "disposition")
    assert test["expected_bits"] > 0
    assert test["how"]
    assert test["safety"]
    known = {caution["caution"]: caution for caution in answer["cautions"]}
    assert set(test["cautions"]) <= known.keys()
    assert all(caution["defer"] for caution in known.values())
    for result in test["results"]:
        tests = {**FOR_A_LINE_ITEM["tests"], test["test"]: result["result"]}
        identified(client, {**FOR_A_LINE_ITEM, "tests": tests})


def test_no_burn_test_and_why(client: FlaskClient) -> None:
    answer = identified(client, {})
    burn = next(never for never in answer["never"] if never["test"] == "burn")
    assert "cyanides" in burn["why"]
    assert answer["cautions"][0]["caution"] == "no-burn-test"


def test_following_the_proposed_tests_ends_and_settles_or_says_why_not(
    client: FlaskClient, app: Flask
) -> None:
    tables = load_tables(snapshot(app).pack)
    technician = random.Random(3)
    for material in ("ABS", "PUR", "PP+EPDM-T20", "PA66-GF30"):
        body: Json = {"part": dict(GRILLE), "damage": CRACK, "tests": {}}
        answer = identified(client, body)
        while answer["next_test"] is not None:
            test = answer["next_test"]["test"]
            assert test not in body["tests"]
            likely = tables.likelihoods[test][material].results
            body["tests"][test] = technician.choices(list(likely), list(likely.values()))[0]
            answer = identified(client, body)
        assert answer["stops"]["says"]
        assert answer["procedure_differs"] == (answer["stops"]["reason"] != "settled")


def test_candidates_are_grouped_by_the_procedure_they_get(client: FlaskClient) -> None:
    answer = identified(client, {"part": GRILLE, "damage": CRACK})
    assert {group["disposition"] for group in answer["groups"]} == {"repair", "replace", "refer"}
    different = []
    for group in answer["groups"]:
        issued = [in_short(procedure(client, material)) for material in group["materials"]]
        assert all(each == issued[0] for each in issued), group["materials"]
        assert issued[0]["disposition"] == group["disposition"]
        assert issued[0] not in different
        different.append(issued[0])


def procedure(client: FlaskClient, material: str) -> Json:
    part = {**GRILLE, "material": material}
    line_item = {"reference": "RO-1"}
    response = client.post("/v1/procedures", json={"line_item": line_item, "part": part, "damage": CRACK})
    assert response.json is not None
    return response.json  # type: ignore[no-any-return]


def in_short(document: Json) -> Json:
    """What a technician has to do and to heed."""
    return {
        "disposition": document["disposition"],
        "stages": [(stage["stage"], stage["parameters"]) for stage in document["stages"]],
        "cautions": sorted(caution["caution"] for caution in document["cautions"]),
    }


def test_a_line_item_leaves_fewer_groups_to_tell_apart(client: FlaskClient) -> None:
    general = identified(client, {"part": {"name": "radiator grille"}})
    for_line_item = identified(client, {"part": GRILLE, "damage": CRACK})
    assert len(for_line_item["groups"]) < len(general["groups"])
    assert {group["disposition"] for group in general["groups"]} == {None}


def test_being_unsure_has_its_price_in_stages_and_minutes(client: FlaskClient) -> None:
    cost = identified(client, FOR_A_LINE_ITEM)["cautious"]["cost"]

    def issued(material: str) -> Json:
        body = {
            "line_item": {"reference": "RO-1"},
            "part": {**FOR_A_LINE_ITEM["part"], "material": material},
            **{name: FOR_A_LINE_ITEM[name] for name in ("damage", "place")},
        }
        document: Json = client.post("/v1/procedures", json=body).json or {}
        return document

    unknown, known = issued("unknown"), issued(cost["against"])
    stages = [[stage["stage"] for stage in document["stages"]] for document in (unknown, known)]
    assert cost["disposition"] == unknown["disposition"]
    assert cost["disposition_against"] == known["disposition"]
    assert cost["stages_added"] == [stage for stage in stages[0] if stage not in stages[1]] != []
    assert cost["stages_left_out"] == [stage for stage in stages[1] if stage not in stages[0]]
    for sums in ("work_min", "elapsed_min"):
        added = unknown["totals"][sums]["p50"] - known["totals"][sums]["p50"]
        assert cost[sums] == pytest.approx(added, abs=0.11)


def test_the_price_of_being_unsure_goes_by_what_the_shop_has_learned(client: FlaskClient) -> None:
    before = identified(client, FOR_A_LINE_ITEM)["cautious"]["cost"]
    body = {"line_item": {"reference": "RO-1"}} | {
        name: {**FOR_A_LINE_ITEM[name], **({"material": "unknown"} if name == "part" else {})}
        for name in ("part", "damage", "place")
    }
    procedure = client.post("/v1/procedures", json=body).json or {}
    only_unknown = next(each for each in procedure["stages"] if each["stage"] in before["stages_added"])
    report = {"stage": only_unknown["stage"], "work_min": 3 * only_unknown["catalogue"]["median_min"]}
    response = client.post(f"/v1/procedures/{procedure['id']}/actuals", json={"actuals": [report]})
    assert response.status_code == 200, response.text
    assert identified(client, FOR_A_LINE_ITEM)["cautious"]["cost"]["work_min"] > before["work_min"]


def test_without_a_line_item_the_cautious_procedure_is_named_without_a_price(client: FlaskClient) -> None:
    cautious = identified(client, {})["cautious"]
    assert cautious["material"] == "unknown"
    assert "cautious" in cautious["says"]
    assert cautious["cost"] is None


def test_a_test_that_the_line_item_forbids_is_not_proposed(client: FlaskClient) -> None:
    part = {**GRILLE, "features": ["lamp"]}
    body: Json = {"part": part, "damage": CRACK, "tests": {}}
    assert identified(client, {**body, "part": GRILLE})["next_test"]["test"] == "solvent_spot"
    proposed = identified(client, body)["next_test"]
    assert proposed is None or proposed["test"] != "solvent_spot"


@pytest.mark.parametrize(
    ("marking", "says"),
    [
        (">PP+EPDM-T2O<", "position 12"),
        (">PP", "position 4"),
        ("><", "position 2"),
        (">XYZ<", "XYZ"),
        ("no such plastic", "no symbol"),
        (" ", "no symbol"),
    ],
)
def test_a_marking_that_cannot_be_used_is_refused_with_its_place(
    client: FlaskClient, marking: str, says: str
) -> None:
    (error,) = refusal(client, {"marking": marking})
    assert error["pointer"] == "/marking"
    assert says in error["detail"]
    assert error["value"] == marking


def test_every_fault_is_told_with_what_is_accepted(client: FlaskClient) -> None:
    tests = {"burn": "soot", "flaot": "sinks", "float": "hovers", "a/b": "x"}
    errors = {error["pointer"]: error for error in refusal(client, {"marking": ">P P<", "tests": tests})}
    assert errors.keys() == {"/marking", "/tests/burn", "/tests/flaot", "/tests/float", "/tests/a~1b"}
    assert "never to be done" in errors["/tests/burn"]["detail"]
    assert "did you mean 'float'" in errors["/tests/flaot"]["detail"]
    assert errors["/tests/float"]["accepted"] == ["floats", "sinks"]
    assert errors["/tests/float"]["value"] == "hovers"


@pytest.mark.parametrize(
    ("body", "pointer", "says"),
    [
        ({"tests": {"float": 3}}, "/tests/float", "must be text"),
        ({"tests": ["float"]}, "/tests", "must be an object"),
        ({"marking": 7}, "/marking", "must be text"),
        ({"marking": ""}, "/marking", "1 to 100"),
        ({"markings": ">PP<"}, "/markings", "did you mean 'marking'"),
        ({"part": {"material": "PP"}}, "/part/material", "/marking"),
        ({"part": {"name": ""}}, "/part/name", "one line of text"),
    ],
)
def test_a_body_of_another_form_is_refused(client: FlaskClient, body: Json, pointer: str, says: str) -> None:
    errors = refusal(client, body, "body-refused")
    assert [error["pointer"] for error in errors] == [pointer]
    assert says in errors[0]["detail"]


def test_half_a_line_item_is_refused_with_what_is_missing(client: FlaskClient) -> None:
    errors = refusal(client, {"part": {"condition": "factory_finish"}}, "facts-refused")
    assert [error["pointer"] for error in errors] == ["/damage/type"]
    errors = refusal(client, {"part": {"colour": "red"}}, "facts-refused")
    assert {error["pointer"] for error in errors} == {"/part/colour", "/part/condition", "/damage/type"}


def test_null_is_as_if_left_out(client: FlaskClient) -> None:
    nothing = {"marking": None, "tests": {"float": None}, "part": {"name": None}, "damage": None}
    assert identified(client, nothing) == identified(client, {})


def test_a_pack_without_tables_says_so(tmp_path: Path) -> None:
    app = serving(tmp_path / "store.sqlite3", pack_folder=small_pack(tmp_path / "pack"))
    response = app.test_client().post(PATH, json={"marking": ">PP<"})
    snapshot(app).store.close()
    assert response.status_code == 501
    assert response.json is not None
    assert response.json["type"] == "/problems/identification-unavailable"


def test_the_tables_are_read_once_a_pack(app: Flask) -> None:
    taken = snapshot(app)
    assert taken.tables is taken.tables
    assert dataclasses.replace(taken).tables is not taken.tables


def test_what_may_be_said_is_published_with_the_tests_of_the_pack(client: FlaskClient, app: Flask) -> None:
    document: Json = client.get("/openapi.json").json or {}
    schemas = document["components"]["schemas"]
    tests, _null = schemas["IdentificationRequest"]["properties"]["tests"]["anyOf"]
    tables = load_tables(snapshot(app).pack)
    assert tests["additionalProperties"] is False
    assert {name: each["anyOf"][0]["enum"] for name, each in tests["properties"].items()} == {
        name: list(test.results) for name, test in tables.tests.items()
    }
    part = schemas["PartSeen"]
    assert part["additionalProperties"] is False
    assert "required" not in part
    assert "condition" in part["properties"]
    assert "material" not in part["properties"]
