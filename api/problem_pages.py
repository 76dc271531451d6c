"""A page for each kind of problem: the `type` of a problem document leads here."""

from __future__ import annotations

import base64
import hashlib
import re

from flask import Blueprint, Response, url_for
from markupsafe import Markup, escape

from api.answers import conditional
from api.headers import POLICY
from api.keys.scopes import open_to_all
from api.problem_types import NOT_FOUND, PROBLEM_TYPES, ProblemType
from api.problems import Problem

_STYLE = (
    "body{max-width:42rem;margin:2rem auto;padding:0 1rem;font:1rem/1.6 system-ui,sans-serif}"
    "code{font-size:.95em}dt{font-weight:600;margin-top:1rem}dd{margin:0}"
)
_STYLE_DIGEST = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
_POLICY = f"default-src 'none'; style-src 'sha256-{_STYLE_DIGEST}'; frame-ancestors 'none'"

_PAGE = Markup(
    '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    '<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n'
    "<style>{style}</style>\n</head>\n<body>\n<h1>{title}</h1>\n{body}\n</body>\n</html>\n"
)
_KIND = Markup(
    "<dl>\n<dt>Status</dt><dd>{status}</dd>\n<dt>What it means</dt><dd>{meaning}</dd>\n"
    '<dt>How to mend it</dt><dd>{mend}</dd>\n</dl>\n<p><a href="{all}">All kinds of problems</a></p>'
)
_ENTRY = Markup('<dt><a href="{uri}">{title}</a></dt><dd>{status}</dd>\n')

problem_pages = Blueprint("problems", __name__, url_prefix="/problems")


@problem_pages.get("")
@open_to_all
def every() -> Response:
    entries = Markup().join(
        _ENTRY.format(uri=_address(kind), title=kind.title, status=kind.status) for kind in PROBLEM_TYPES
    )
    return _page("Kinds of problems", Markup("<dl>\n{}</dl>").format(entries))


@problem_pages.get("/<slug>")
@open_to_all
def one(slug: str) -> Response:
    kind = next((kind for kind in PROBLEM_TYPES if kind.slug == slug), None)
    if kind is None:
        raise Problem(NOT_FOUND, f"there is no kind of problem '{slug[:60]}'")
    body = _KIND.format(
        status=kind.status,
        meaning=_marked(kind.meaning),
        mend=_marked(kind.mend),
        all=url_for("problems.every"),
    )
    return _page(kind.title, body)


def _address(kind: ProblemType) -> str:
    return url_for("problems.one", slug=kind.slug)


def _marked(text: str) -> Markup:
    """Text with what stands between backticks as code."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def _page(title: str, body: Markup) -> Response:
    html = _PAGE.format(title=title, style=Markup(_STYLE), body=body)
    response = Response(html, content_type="text/html; charset=utf-8")
    response.headers[POLICY] = _POLICY
    return conditional(response)
