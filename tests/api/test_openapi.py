from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate

from api.openapi import openapi_document, openapi_yaml
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack
from rules.vocabulary import Kind, Origin
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
    issued = (client.post("/v1/procedures", json=MINIMAL).json or {})["id"]
    for path, method, content in bodies(yaml.safe_load(openapi_yaml())):
        assert content["examples"]
        for example in content["examples"].values():
            schema = {**content["schema"], "components": document["components"]}
            Draft202012Validator(schema).validate(example["value"])
            if method == "post":
                sent = client.post(path.replace("{procedure_id}", issued), json=example["value"])
                assert sent.status_code in (200, 201)


def test_every_post_has_examples_unless_it_has_no_body(document: Json) -> None:
    posts = {path for path, operations in document["paths"].items() if "post" in operations}
    with_body = {path for path, method, _ in bodies(document) if method == "post"}
    assert posts - with_body == {
        "/v1/packs/{digest}/proof",
        "/v1/packs/active/rollback",
        "/v1/estimates/{stage}/reset",
    }


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
    assert asking == {("put", "/v1/packs/active"), ("post", "/v1/packs/active/rollback")}


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
            assert [value for value in described["enum"] if value is not None] == list(fact.values)
        if fact.kind is Kind.NUMBER:
            assert (described["minimum"], described["maximum"]) == (fact.minimum, fact.maximum)
        if fact.default is not None:
            assert described["default"] == fact.default


def test_what_must_be_given_is_required_and_what_may_be_left_out_may_be_null(document: Json) -> None:
    schemas = document["components"]["schemas"]
    assert sorted(schemas["ProcedureRequest"]["required"]) == ["damage", "line_item", "part"]
    assert schemas["Part"]["required"] == ["condition", "material", "name"]
    assert schemas["Damage"]["required"] == ["type"]
    assert property_at(document, "/damage/type")["type"] == "string"
    assert property_at(document, "/damage/length_mm")["type"] == ["number", "null"]
    assert property_at(document, "/damage/count")["type"] == ["integer", "null"]
    assert None in property_at(document, "/finish/topcoat")["enum"]


def test_requests_are_closed_and_every_member_is_told_about(document: Json) -> None:
    schemas = document["components"]["schemas"]
    for name in ("ProcedureRequest", "LineItem", "Part", "Damage", "Finish", "Place", "RatesGiven"):
        assert schemas[name]["additionalProperties"] is False
    for name, schema in schemas.items():
        for member, described in schema["properties"].items():
            told = "description" in described or "$ref" in str(described)
            assert told, f"{name}.{member}"
