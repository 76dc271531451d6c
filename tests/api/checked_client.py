from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator, FormatChecker
from werkzeug.test import TestResponse

from api.application import Settings, create_app
from api.snapshot import Snapshot

Json = dict[str, Any]


class CheckedClient(FlaskClient):
    """Holds every response of the API to the OpenAPI document of the application it calls."""

    def open(self, *args: Any, **options: Any) -> TestResponse:
        response = super().open(*args, buffered=True, **options)
        if response.request.path != "/openapi.json":
            document = json.loads(snapshot(self.application).openapi)
            hold_to(document, response)
        return response


def snapshot(app: Flask) -> Snapshot:
    taken: Snapshot = app.extensions["stagewright"]
    return taken


def hold_to(document: Json, response: TestResponse) -> None:
    """Fails where a response has a status, a media type or a member that the document does not tell."""
    operation = operation_of(document, response.request.path, response.request.method)
    if operation is None or response.status_code in (204, 304):
        return
    described = operation["responses"].get(str(response.status_code), operation["responses"]["default"])
    if "$ref" in described:
        described = document["components"]["responses"][described["$ref"].rpartition("/")[2]]
    assert response.mimetype in described["content"]
    if response.is_json:
        Draft202012Validator(
            {**closed(document), **described["content"][response.mimetype]["schema"]},
            format_checker=FormatChecker(),
        ).validate(response.json)


def operation_of(document: Json, path: str, method: str) -> Json | None:
    # A path that is written out goes before one with a variable part.
    for template, operations in sorted(document["paths"].items(), key=lambda each: each[0].count("{")):
        if re.fullmatch(re.sub(r"\{\w+\}", "[^/]+", template), path):
            found: Json | None = operations.get(method.lower())
            return found
    return None


def closed(document: Json) -> Json:
    """The components, with every object that lists its members closed: what is sent must be told."""
    schemas = {
        name: {"additionalProperties": False, **schema}
        for name, schema in document["components"]["schemas"].items()
    }
    return {"components": {"schemas": schemas}}


def serving(database: Path, **settings: Any) -> Flask:
    """An application on the base pack whose test client is a `CheckedClient`."""
    # Tests that ask without a key that holds do so more often than a caller may.
    settings = {"without_keys": True, "key_failures": 0, **settings}
    application = create_app(Settings(database_url=f"sqlite:///{database}", **settings))
    application.test_client_class = CheckedClient
    return application
