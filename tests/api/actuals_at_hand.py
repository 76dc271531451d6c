"""Procedures for line items of their own, and reports on their stages."""

from __future__ import annotations

from copy import deepcopy
from typing import Any
from uuid import uuid4

from checked_client import Json
from flask.testing import FlaskClient

from schemas.examples import MINIMAL


def issued(client: FlaskClient, reference: str | None = None) -> Json:
    """A procedure for a line item of its own."""
    body = deepcopy(MINIMAL)
    body["line_item"]["reference"] = reference or f"RO-{uuid4().hex[:12]}"
    response = client.post("/v1/procedures", json=body)
    assert response.status_code == 201, response.text
    assert response.json is not None
    found: Json = response.json
    return found


def stage_of(procedure: Json, stage: str = "solvent-clean") -> Json:
    found: Json = next(each for each in procedure["stages"] if each["stage"] == stage)
    return found


def post(client: FlaskClient, procedure: Json, *entries: Json) -> Any:
    return client.post(f"/v1/procedures/{procedure['id']}/actuals", json={"actuals": list(entries)})


def taken(client: FlaskClient, procedure: Json, *entries: Json) -> list[Json]:
    response = post(client, procedure, *entries)
    assert response.status_code == 200, response.text
    found: list[Json] = response.json["items"]
    return found
