from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient

from api import problem_types
from api.problem_types import PROBLEM_TYPES, ProblemType


class References(HTMLParser):
    """Collects what a page loads or leads to, and whether it has scripts of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.inline_scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.found += [value for name in ("src", "href") if (value := named.get(name))]
        self.inline_scripts += tag == "script" and "src" not in named


def references(html: str) -> References:
    parser = References()
    parser.feed(html)
    return parser


def test_the_page_of_the_api_loads_nothing_from_another_host(client: FlaskClient) -> None:
    page = client.get("/docs")
    assert (page.status_code, page.mimetype) == (200, "text/html")
    read = references(page.text)
    assert read.inline_scripts == 0
    local = [reference for reference in read.found if not reference.startswith("data:")]
    assert len(local) == 3
    for reference in local:
        assert reference.startswith("/docs/")
        assert client.get(reference).status_code == 200
    assert "//" not in page.text


def test_the_page_of_the_api_asks_no_other_host_when_it_runs(client: FlaskClient) -> None:
    script = client.get("/docs/start.js")
    assert script.mimetype == "text/javascript"
    assert 'url: "/openapi.json"' in script.text
    # Left out, it would send the document's address to a validator on another host.
    assert "validatorUrl: null" in script.text
    assert "//" not in script.text
    policy = client.get("/docs").headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; script-src 'self';")
    allowed = set(re.findall(r"[^\s;]+", re.sub(r"[a-z]+-[a-z-]+ ", "", policy)))
    assert allowed <= {"'none'", "'self'", "'unsafe-inline'", "data:"}


def test_the_address_with_a_slash_is_served_too(client: FlaskClient) -> None:
    assert client.get("/docs/").text == client.get("/docs").text


@pytest.mark.parametrize("kind", PROBLEM_TYPES, ids=lambda kind: kind.slug)
def test_every_kind_of_problem_has_a_page(client: FlaskClient, kind: ProblemType) -> None:
    page = client.get(kind.uri)
    assert (page.status_code, page.mimetype) == (200, "text/html")
    assert kind.title in page.text
    assert not references(page.text).inline_scripts
    assert "script-src" not in page.headers["Content-Security-Policy"]
    assert kind.uri in references(client.get("/problems").text).found


def test_the_registry_is_whole_and_without_doubles() -> None:
    declared = [value for value in vars(problem_types).values() if isinstance(value, ProblemType)]
    assert list(PROBLEM_TYPES) == declared
    assert len({kind.slug for kind in declared}) == len(declared)


def test_every_response_carries_the_security_headers(app: Flask, client: FlaskClient) -> None:
    for path in ("/", "/livez", "/docs", "/docs/swagger-ui.css", "/problems", "/nothing", "/v1/stages"):
        headers = client.get(path).headers
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
        assert headers["Content-Security-Policy"].startswith("default-src 'none'")


def test_the_start_page_leads_to_what_there_is(client: FlaskClient) -> None:
    response = client.get("/")
    assert response.json is not None
    for link in response.json["links"].values():
        assert client.get(link).status_code == 200


def test_readiness_names_engine_and_pack(app: Flask, client: FlaskClient) -> None:
    ready = client.get("/readyz").json
    assert ready is not None
    assert ready["engine"] == snapshot(app).decider.engine.name
    assert ready["pack"]["digest"] == snapshot(app).pack.digest
