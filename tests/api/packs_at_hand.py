"""Versions of the small pack, told apart by the coats of promoter, and a service that runs with it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from checked_client import Json, serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from small_pack import SMALL_PACK, small_pack
from sqlalchemy import select, update
from werkzeug.test import TestResponse

from rules.engines import Engine
from rules.engines.faults import EngineClosed
from rules.loading import load_files
from rules.pack import Pack
from storage.shops import LOCAL
from storage.tables import activations, outbox

Files = dict[str, str]


def version(coats: int) -> Files:
    """The small pack with another number of coats; 2 is the pack as it is."""
    return {path: text.replace("coats: 2", f"coats: {coats}") for path, text in SMALL_PACK.items()}


def overlay(rule: str = "", **more: str) -> Files:
    """An overlay on the small pack, with a rule and further files by the stem of their names."""
    header = (
        "pack: {name: shop, version: 1.0.0, title: An invented shop, effective_from: 2026-01-01,"
        " effective_until: null, extends: small}\n"
    )
    files = {"pack.yaml": header, **{f"{stem}.yaml": text for stem, text in more.items()}}
    return files | ({"rules.yaml": f"rules:\n{rule}"} if rule else {})


def gap() -> Files:
    """A pack that decides nothing for airbag covers."""
    text = SMALL_PACK["rules/all.yaml"]
    start = text.index("  - id: refer-airbag-covers")
    return {
        **SMALL_PACK,
        "rules/all.yaml": text[:start] + text[text.index("  - id: promote-low-energy") :],
    }


def small_service(folder: Path) -> Flask:
    return serving(folder / "store.sqlite3", pack_folder=small_pack(folder / "pack"))


def keep(app: Flask, files: Files, proven: bool = True) -> Pack:
    """Put a pack into the store, as if it had been uploaded and proven."""
    pack = load_files([files])
    store = snapshot(app).store
    store.packs.keep(LOCAL, pack)
    if proven:
        store.packs.keep_proof(LOCAL, pack.digest, True, {"passed": True})
    return pack


def etag(client: FlaskClient) -> str:
    return client.get("/v1/packs/active").headers["ETag"]


def activate(client: FlaskClient, digest: str, **body: Any) -> TestResponse:
    headers = {"If-Match": etag(client)}
    return client.put("/v1/packs/active", json={"digest": digest, **body}, headers=headers)


def line_item(reference: str = "R1", material: str = "PP", kind: str = "crack", **part: Any) -> Json:
    return {
        "line_item": {"reference": reference},
        "part": {"name": "bumper cover", "material": material, **part},
        "damage": {"type": kind},
    }


def issue(client: FlaskClient, **line: Any) -> Json:
    response = client.post("/v1/procedures", json=line_item(**line))
    assert response.status_code == 201, response.text
    document: Json = response.json or {}
    return document


def coats(document: Json) -> list[int]:
    """The coats of promoter in a procedure."""
    return [stage["coats"] for stage in document["stages"] if stage["stage"] == "adhesion-promoter"]


def told(response: TestResponse, status: int, slug: str) -> Any:
    assert response.status_code == status, response.text
    assert response.json is not None
    assert response.json["type"] == f"/problems/{slug}"
    return response.json


def in_force(client: FlaskClient) -> str:
    response = client.get("/v1/packs/active")
    assert response.json is not None
    digest: str = response.json["pack"]["digest"]
    return digest


def superseded(app: Flask) -> list[str]:
    """The line items that were told."""
    with snapshot(app).store._engine.connect() as connection:
        return list(connection.scalars(select(outbox.c.reference).order_by(outbox.c.number)))


def in_an_hour() -> str:
    return (datetime.now(UTC) + timedelta(hours=1)).isoformat(timespec="seconds")


def make_due(app: Flask, number: int, shop: str = LOCAL) -> None:
    """As if the hour had passed."""
    with snapshot(app).store._engine.begin() as connection:
        moment = datetime.now(UTC) - timedelta(seconds=1)
        connection.execute(
            update(activations)
            .where(activations.c.shop == shop, activations.c.number == number)
            .values(effective_from=moment)
        )


def is_closed(engine: Engine) -> bool:
    """Whether an engine answers no more, as far as that can be told."""
    try:
        with engine.evaluation():
            return engine.name == "reference"  # it holds nothing that could be closed
    except EngineClosed:
        return True


class WornOut:
    """Stands in for an engine that ran out of memory."""

    name = "invented"
    worn_out = "the engine ran out of memory; restart the process"

    def evaluation(self) -> Any:
        raise EngineClosed(self.worn_out)
