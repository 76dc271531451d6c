from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from webhooks_at_hand import made

from api.openapi import openapi_document, openapi_yaml
from api.requests import TAKES_QUERY
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack
from rules.vocabulary import Kind, Origin
from rules.wording import value_in_words
from schemas.examples import MINIMAL

COMMITTED = Path(__file__).parents[2] / "openapi.yaml"

Json = dict[str, Any]


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


@pytest.fixture(scope="module")
def document(pack: Pack) -> Json:
    return openapi_document(pack)


def test_the_committed_document_is_the_generated_one() -> None:
    assert COMMITTED.read_text(encoding="utf-8") == openapi_yaml(), "run `make openapi`"


def test_the_document_is_valid_openapi_3_1_without_aliases(document: Json) -> None:
    assert document["openapi"] == "3.1.0"
    validate(document)
    text = openapi_yaml()
    assert yaml.safe_load(text) == document
    assert "&id" not in text


def test_the_service_serves_the_same_document(client: FlaskClient, document: Json) -> None:
    response = client.get("/openapi.json")
    assert response.json == document
    etag = response.headers["ETag"]
    assert client.get("/openapi.json", headers={"If-None-Match": etag}).status_code == 304


def bodies(document: Json) -> Iterator[tuple[str, str, Json]]:
    """Path, method and JSON content of every operation that takes a body."""
    for path, operations in document["paths"].items():
        for method, described in operations.items():
            if "requestBody" in described:
                yield path, method, described["requestBody"]["content"]["application/json"]


def test_every_example_fits_its_own_schema_and_what_is_posted_is_answered(
    client: FlaskClient, document: Json
) -> None:
    known = {
        "{procedure_id}": (client.post("/v1/procedures", json=MINIMAL).json or {})["id"],
        "{webhook_id}": made(client)["id"],
    }
    for path, method, content in bodies(yaml.safe_load(openapi_yaml())):
        assert content["examples"]
        for example in content["examples"].values():
            schema = {**content["schema"], "components": document["components"]}
            Draft202012Validator(schema).validate(example["value"])
            if method == "post":
                address = re.sub(r"\{\w+\}", lambda variable: known[variable[0]], path)
                sent = client.post(address, json=example["value"])
                assert sent.status_code in (200, 201)


def test_every_post_has_examples_unless_it_has_no_body(document: Json) -> None:
    posts = {path for path, operations in document["paths"].items() if "post" in operations}
    with_body = {path for path, method, _ in bodies(document) if method == "post"}
    assert posts - with_body == {
        "/v1/packs/{digest}/proof",
        "/v1/packs/{digest}/renewal",
        "/v1/packs/active/rollback",
        "/v1/estimates/{stage}/reset",
        "/v1/links/revoke",
        "/v1/webhooks/{webhook_id}/test",
        "/v1/webhooks/{webhook_id}/replay",
        "/v1/webhooks/{webhook_id}/deliveries/{delivery_id}/replay",
    }


def test_every_operation_that_reads_its_query_describes_it(client: FlaskClient, document: Json) -> None:
    for path, item in document["paths"].items():
        for method in item.keys() - {"parameters"}:
            name = item[method]["operationId"]
            (view,) = [
                view
                for endpoint, view in client.application.view_functions.items()
                if endpoint.rpartition(".")[2] == name
            ]
            described = [each["name"] for each in item[method].get("parameters", []) if each["in"] == "query"]
            assert bool(described) == getattr(view, TAKES_QUERY, False), (method, path)


def test_every_operation_has_a_name_a_summary_and_an_error_in_problem_json(document: Json) -> None:
    operations = [
        described
        for path in document["paths"].values()
        for method, described in path.items()
        if method != "parameters"
    ]
    names = [described["operationId"] for described in operations]
    assert len(names) == len(set(names)) >= 10
    assert all(described["summary"] for described in operations)
    default = document["components"]["responses"]["DEFAULT_ERROR"]
    assert list(default["content"]) == ["application/problem+json"]
    assert all("default" in described["responses"] for described in operations)


def property_at(document: Json, pointer: str) -> Json:
    schemas = document["components"]["schemas"]
    _, section, name = pointer.split("/")
    described = schemas["ProcedureRequest"]["properties"][section]
    alternatives = described.get("anyOf", [described])
    reference = next(alternative["$ref"] for alternative in alternatives if "$ref" in alternative)
    found: Json = schemas[reference.rpartition("/")[2]]["properties"][name]
    return found


def test_only_changing_operations_ask_for_if_match(document: Json) -> None:
    asking = set()
    for path, item in document["paths"].items():
        for method in item.keys() - {"parameters"}:
            named = [*item.get("parameters", []), *item[method].get("parameters", [])]
            if any(parameter["name"] == "If-Match" for parameter in named):
                asking.add((method, path))
    assert asking == {
        ("put", "/v1/packs/active"),
        ("post", "/v1/packs/active/rollback"),
        ("put", "/v1/webhooks/{webhook_id}"),
        ("delete", "/v1/webhooks/{webhook_id}"),
    }


def test_every_fact_of_a_line_item_is_described_as_the_pack_declares_it(document: Json, pack: Pack) -> None:
    features = property_at(document, "/part/features")["items"]["enum"]
    for fact in pack.vocabulary.from_origin(Origin.LINE_ITEM):
        assert fact.given_as is not None
        if fact.given_as.startswith("/part/features/"):
            assert fact.given_as.rpartition("/")[2] in features
            continue
        described = property_at(document, fact.given_as)
        assert fact.about in described["description"]
        if fact.kind is Kind.ENUMERATION:
            values = described.get("anyOf", [described])[0]["enum"]
            assert values == list(fact.values)
        if fact.kind is Kind.NUMBER:
            assert (described["minimum"], described["maximum"]) == (fact.minimum, fact.maximum)
        assert "default" not in described, "a client that fills it in states what nobody knows"
        taken = f" Left out, it is taken to be {value_in_words(fact.default)}."
        assert (taken in described["description"]) == (fact.default is not None)


def test_what_is_one_of_some_values_is_never_mixed_with_null(document: Json) -> None:
    """Generators of clients make several types of such an enumeration, none of them of use."""

    def mixed(described: Any) -> bool:
        if isinstance(described, list):
            return any(map(mixed, described))
        if not isinstance(described, dict):
            return False
        values = described.get("enum")
        return (isinstance(values, list) and None in values) or any(map(mixed, described.values()))

    assert [name for name, schema in document["components"]["schemas"].items() if mixed(schema)] == []
    assert mixed({"items": [{"enum": ["a", None]}]})


def test_what_must_be_given_is_required_and_what_may_be_left_out_may_be_null(document: Json) -> None:
    schemas = document["components"]["schemas"]
    assert sorted(schemas["ProcedureRequest"]["required"]) == ["damage", "line_item", "part"]
    assert schemas["Part"]["required"] == ["condition", "material", "name"]
    assert schemas["Damage"]["required"] == ["type"]
    assert property_at(document, "/damage/type")["type"] == "string"
    assert property_at(document, "/damage/length_mm")["type"] == ["number", "null"]
    assert property_at(document, "/damage/count")["type"] == ["integer", "null"]
    assert {"type": "null"} in property_at(document, "/finish/topcoat")["anyOf"]


def test_requests_are_closed_and_every_member_is_told_about(document: Json) -> None:
    schemas = document["components"]["schemas"]
    for name in ("ProcedureRequest", "LineItem", "Part", "Damage", "Finish", "Place", "RatesGiven"):
        assert schemas[name]["additionalProperties"] is False
    for name, schema in schemas.items():
        for member, described in schema["properties"].items():
            told = "description" in described or "$ref" in str(described)
            assert told, f"{name}.{member}"
