"""API9:2023 Improper Inventory Management (OWASP API Security Top 10, 2023): what is served is described,
what is described is served, and there is no other version, host, setting or way in."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import caller
from packs_at_hand import told
from werkzeug.routing import Rule

from api.commands import main
from api.deprecation import DEPRECATED
from storage.shops import LOCAL

ROOT = Path(__file__).parents[2]
PUBLISHED: Any = yaml.safe_load((ROOT / "openapi.yaml").read_text(encoding="utf-8"))
OPERATION = (ROOT / "docs" / "operation.md").read_text(encoding="utf-8")

PAGES = {
    "GET /openapi.json",
    "GET /docs",
    "GET /docs/start.js",
    "GET /docs/{name}",
    "GET /problems",
    "GET /problems/{slug}",
}
"""The description itself, and its pages for people: what needs no description."""

UNVERSIONED = {"/", "/livez", "/readyz", "/metrics", "/.well-known/api-catalog"}
"""For whoever runs the service. All else that is described has its version in its path or a link opens it."""

OPENED_BY_LINK = "/l/"


def called(rule: Rule) -> str:
    """As the document writes it: `GET /v1/procedures/{procedure_id}`."""
    (method,) = (rule.methods or set()) - {"HEAD", "OPTIONS"}
    return f"{method} " + re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule)


def described(document: Any) -> set[str]:
    return {
        f"{method.upper()} {path}"
        for path, item in document["paths"].items()
        for method in item
        if method != "parameters"
    }


def test_what_is_served_is_described_and_what_is_described_is_served(app: Flask, client: FlaskClient) -> None:
    served = [called(rule) for rule in app.url_map.iter_rules()]
    assert len(served) == len(set(served))
    assert set(served) - PAGES == described(PUBLISHED)
    assert set(served) >= PAGES
    assert described(client.get("/openapi.json").json) == described(PUBLISHED)


def test_there_is_one_version_and_it_is_in_the_path() -> None:
    paths = PUBLISHED["paths"].keys() - UNVERSIONED
    assert {path.split("/")[1] for path in paths if not path.startswith(OPENED_BY_LINK)} == {"v1"}


@pytest.mark.parametrize("prefix", ["", "/v0", "/v2", "/V1", "/v1.0", "/v01", "/v1beta", "/api/v1", "/v1/v1"])
def test_no_other_version_is_left_standing(keyed: Flask, prefix: str) -> None:
    client = caller(keyed, LOCAL)
    for path in PUBLISHED["paths"]:
        if path.startswith("/v1/"):
            told(
                client.get(prefix + path.removeprefix("/v1").replace("{", "").replace("}", "")),
                404,
                "not-found",
            )


def test_the_version_is_that_of_the_package_everywhere(client: FlaskClient) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert version("stagewright") == project, "install anew: pip install --editable ."
    assert PUBLISHED["info"]["version"] == project
    document: Any = client.get("/openapi.json").json
    assert document["info"]["version"] == project
    assert f"version {project}\n" in CliRunner().invoke(main, ["--version"]).output


UNTOLD = """
    /admin /actuator /actuator/env /api /api-docs /backup /config /console /debug /debug/vars /env /.env
    /.git/config /graphql /health /healthz /info /internal /jobs /logs /metrics/ /openapi.yaml /phpinfo.php
    /redoc /robots.txt /server-status /shutdown /static/app.js /status /store.sqlite3 /swagger /swagger.json
    /test /trace /version /v1 /v1/ /v1/admin /v1/keys /v1/shops /v1/audit /v1/debug /v1/sql /v1/procedures/all
"""


@pytest.mark.parametrize("path", UNTOLD.split())
def test_nothing_answers_where_nothing_is_told_of(keyed: Flask, path: str) -> None:
    """Not even to a key for everything of the shop that runs the service."""
    client = caller(keyed, LOCAL)
    for method in ("GET", "POST"):
        response = client.open(path, method=method)
        assert response.status_code in (404, 405), (method, path, response.text)
        assert "Location" not in response.headers


def test_nothing_is_left_on_that_helps_to_find_faults(keyed: Flask) -> None:
    assert (keyed.debug, keyed.testing) == (False, False)
    assert not keyed.config["PROPAGATE_EXCEPTIONS"]
    for query in ("?__debugger__=yes&cmd=resource&f=debugger.js", "?debug=1", "?trace=1"):
        told(caller(keyed, LOCAL).get(f"/v1/stages{query}"), 422, "query-refused")


def test_the_catalogue_lists_every_version_that_is_served(app: Flask, client: FlaskClient) -> None:
    linkset = (client.get("/.well-known/api-catalog").json or {})["linkset"]
    contexts = {context["anchor"]: context for context in linkset}
    listed = {item["href"] for item in contexts["/.well-known/api-catalog"]["item"]}
    served = {found[0] for rule in app.url_map.iter_rules() if (found := re.match(r"/v\d+", rule.rule))}
    assert listed == served
    assert all(contexts[each].keys() >= {"service-desc", "service-doc", "status"} for each in listed)


def test_whatever_goes_away_is_told_of_and_marked_in_the_published_document() -> None:
    marked = {
        operation["operationId"]
        for item in PUBLISHED["paths"].values()
        for method, operation in item.items()
        if method != "parameters" and operation.get("deprecated")
    }
    assert marked == DEPRECATED.keys()


def words_of(source: Path) -> Iterator[str]:
    """Every text in a module."""
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def test_every_variable_that_is_read_is_told_of() -> None:
    sources = [path for package in ("api", "storage") for path in (ROOT / package).rglob("*.py")]
    named = {word for source in sources for word in words_of(source)}
    read = {word for word in named if re.fullmatch(r"(STAGEWRIGHT|OTEL|PROMETHEUS)_[A-Z_]+[A-Z]", word)}
    assert len(read) > 15
    untold = {word for word in read if f"`{word}`" not in OPERATION}
    assert untold == set()


def test_of_the_containers_one_is_reached_from_outside_and_only_from_its_machine() -> None:
    services: Any = yaml.safe_load((ROOT / "docker" / "compose.yaml").read_text(encoding="utf-8"))["services"]
    open_to = {name: service["ports"] for name, service in services.items() if "ports" in service}
    assert open_to == {"service": ["127.0.0.1:8080:8080"]}
    outside = {
        name for name, service in services.items() if "outside" in service.get("networks", ["outside"])
    }
    assert "database" not in outside
    assert "counters" not in outside
