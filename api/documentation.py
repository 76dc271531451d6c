"""The OpenAPI document and its interactive page. Every asset comes from this service."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from flask import Blueprint, Response, send_from_directory, url_for

from api.answers import JSON, conditional
from api.headers import POLICY
from api.keys.scopes import open_to_all
from api.problem_types import NOT_FOUND
from api.problems import Problem
from api.snapshot import current

ASSETS = ("swagger-ui.css", "swagger-ui-bundle.js")

# The page styles itself with style attributes; scripts come from files only.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)

_PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>stagewright: the API</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="{css}">
</head>
<body>
<div id="page"></div>
<script src="{bundle}"></script>
<script src="{start}"></script>
</body>
</html>
"""

# `validatorUrl: null`: otherwise the page sends the document's address to a service on another host.
_START = """\
SwaggerUIBundle({{
  dom_id: "#page",
  url: "{openapi}",
  validatorUrl: null,
  deepLinking: true,
  presets: [SwaggerUIBundle.presets.apis],
}});
"""

documentation = Blueprint("documentation", __name__)


@documentation.get("/openapi.json")
@open_to_all
def openapi() -> Response:
    return conditional(Response(current().openapi, content_type=JSON))


@documentation.get("/docs", strict_slashes=False)
@open_to_all
def page() -> Response:
    css, bundle = (url_for("documentation.asset", name=name) for name in ASSETS)
    html = _PAGE.format(css=css, bundle=bundle, start=url_for("documentation.start"))
    response = Response(html, content_type="text/html; charset=utf-8")
    response.headers[POLICY] = _POLICY
    return conditional(response)


@documentation.get("/docs/start.js")
@open_to_all
def start() -> Response:
    script = _START.format(openapi=url_for("documentation.openapi"))
    return conditional(Response(script, content_type="text/javascript; charset=utf-8"))


@documentation.get("/docs/<name>")
@open_to_all
def asset(name: str) -> Response:
    if name not in ASSETS:
        raise Problem(NOT_FOUND, f"the page has no file '{name[:60]}'")
    return send_from_directory(Path(str(files("flask_swagger_ui"))) / "dist", name)
