"""A service that asks for keys, on the small pack, and callers with keys of two shops."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from small_pack import small_pack
from werkzeug.test import TestResponse

from storage.key_records import SCOPES, WrittenKey
from storage.store import Store

NORTH, SOUTH = "north", "south"
EVERYTHING = tuple(SCOPES)
CHALLENGE = 'Bearer realm="stagewright"'


def keyed_service(folder: Path, **settings: Any) -> Flask:
    """With the shops `north` and `south` beside `local`, and no key."""
    pack = small_pack(folder / "pack")
    app = serving(folder / "store.sqlite3", pack_folder=pack, without_keys=False, **settings)
    for shop in (NORTH, SOUTH):
        store_of(app).shops.create(shop, f"The shop in the {shop}", "command line")
    return app


def store_of(app: Flask) -> Store:
    return snapshot(app).store


def key(app: Flask, shop: str = NORTH, *scopes: str, **more: Any) -> WrittenKey:
    """A new key; for everything where no scope is named."""
    return store_of(app).keys.create(shop, "invented", scopes or EVERYTHING, "command line", **more)


def with_key(app: Flask, written: WrittenKey) -> FlaskClient:
    """A caller that sends this key with every request."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {written.text}"
    return client


def caller(app: Flask, shop: str = NORTH, *scopes: str) -> FlaskClient:
    """A caller with a new key."""
    return with_key(app, key(app, shop, *scopes))


def is_refused(response: TestResponse) -> bool:
    """Whether a request was refused for want of a key, and nothing more was told."""
    return (response.status_code, response.headers.get("WWW-Authenticate"), response.json) == (
        401,
        CHALLENGE,
        {
            "type": "/problems/key-refused",
            "title": "A key is needed",
            "status": 401,
            "detail": "send a key that holds, as 'Authorization: Bearer …'",
        },
    )
