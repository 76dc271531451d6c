"""Webhooks of a service, and calls about them."""

from __future__ import annotations

from typing import Any

from checked_client import Json
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from schemas.webhooks import EVENTS, URL

PATH = "/v1/webhooks"


def asked(url: str = URL, *events: str, **more: Any) -> Json:
    """The body that asks for a webhook; for every event where none is named."""
    return {"url": url, "events": list(events or EVENTS), **more}


def made(client: FlaskClient, *args: str, **more: Any) -> Json:
    """A new webhook, with its secret."""
    response = client.post(PATH, json=asked(*args, **more))
    assert response.status_code == 201, response.text
    found: Json = response.json or {}
    return found


def place(webhook: Json, *parts: str) -> str:
    """The address of a webhook, or of something of it."""
    return "/".join((PATH, webhook["id"], *parts))


def tag(client: FlaskClient, webhook: Json) -> str:
    return client.get(place(webhook)).headers["ETag"]


def changed(client: FlaskClient, webhook: Json, **members: Any) -> TestResponse:
    """Change some members, by who has seen the webhook as it is now."""
    seen = client.get(place(webhook))
    body = {name: (seen.json or {})[name] for name in ("url", "events", "description", "paused")}
    return client.put(place(webhook), json={**body, **members}, headers={"If-Match": seen.headers["ETag"]})


def tried(client: FlaskClient, webhook: Json) -> Json:
    """A test send that waits."""
    response = client.post(place(webhook, "test"))
    assert response.status_code == 202, response.text
    found: Json = response.json or {}
    return found


def listed(client: FlaskClient, webhook: Json, query: str = "") -> list[Json]:
    response = client.get(f"{place(webhook, 'deliveries')}{query}")
    assert response.status_code == 200, response.text
    found: list[Json] = (response.json or {})["items"]
    return found
