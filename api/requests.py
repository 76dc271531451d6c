"""Taking requests in: strict JSON bodies, and query parameters of which none is ignored."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NoReturn

from flask import Request, current_app, request
from marshmallow import Schema, ValidationError
from webargs.flaskparser import FlaskParser

from api.answers import JSON
from api.problem_types import (
    BODY_REFUSED,
    LINE_ITEM_REFUSED,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    NOT_FOUND,
    QUERY_REFUSED,
)
from api.problems import Problem, refused
from schemas.faults import Fault, faults_of_body, faults_of_query
from schemas.line_item.body import ProcedureRequest
from schemas.strict_json import MalformedJson, read_json

UTF_8 = ("utf-8", "utf8", "us-ascii")
"""Charsets whose bytes are read rightly as UTF-8."""

TAKES_QUERY = "takes_query"
"""The attribute that marks a view which declares query parameters."""

BODY_LIMIT = "body_limit"
"""The attribute that names, for a view, the bound on its body in the configuration of the application."""


class StrictParser(FlaskParser):
    """Reads bodies with `schemas.strict_json` and raises problems that name every fault."""

    def _raw_load_json(self, req: Request) -> Any:
        refuse_encoded(req)
        if req.mimetype != JSON:
            told = f"the body is sent as '{req.mimetype}'" if req.mimetype else "Content-Type is missing"
            raise Problem(MEDIA_TYPE_UNSUPPORTED, f"{told}; send {JSON}", headers={"Accept": JSON})
        try:
            return read_json(req.get_data(cache=False))
        except MalformedJson as error:
            raise Problem(MALFORMED_JSON, str(error)) from error

    def handle_error(
        self,
        error: ValidationError,
        req: Request,
        schema: Schema,
        *,
        error_status_code: int | None,
        error_headers: Mapping[str, str] | None,
    ) -> NoReturn:
        """Turn what the schema found into a problem."""
        ((location, messages),) = error.messages_dict.items()
        error.messages = messages
        if location == "query":
            raise refused(QUERY_REFUSED, faults_of_query(error, schema), "parameter")
        kind = LINE_ITEM_REFUSED if isinstance(schema, ProcedureRequest) else BODY_REFUSED
        raise refused(kind, faults_of_body(error, schema))


def refuse_encoded(req: Request) -> None:
    """Refuse a body that is compressed, or said to be text of another charset: it is read as it comes."""
    coding = req.headers.get("Content-Encoding", "identity")
    if coding.strip().lower() != "identity":
        told = f"the body is sent with Content-Encoding '{coding[:60]}'; send it as it is"
        raise Problem(MEDIA_TYPE_UNSUPPORTED, told, headers={"Accept-Encoding": "identity"})
    charset = req.mimetype_params.get("charset", UTF_8[0])
    if charset.lower() not in UTF_8:
        told = f"the body is sent in the charset '{charset[:60]}'; send {UTF_8[0]}"
        raise Problem(MEDIA_TYPE_UNSUPPORTED, told, headers={"Accept": JSON})


def bound_body() -> None:
    """Before every request: let the body be as large as the view declares, where it declares a bound."""
    limit = getattr(current_app.view_functions.get(request.endpoint or ""), BODY_LIMIT, None)
    if limit is not None:
        request.max_content_length = current_app.config[limit]


def refuse_encoded_slash() -> None:
    """Before every request: `%2F` is no slash, and no id has one; servers hand both on as a slash."""
    if "%2f" in request.environ.get("REQUEST_URI", "").partition("?")[0].lower():
        raise Problem(NOT_FOUND, "no path here has an encoded slash")


def refuse_ignored_query() -> None:
    """Before every request: refuse query parameters the view does not declare, and repeated ones."""
    view = current_app.view_functions.get(request.endpoint or "")
    if view is None:
        return
    declared = getattr(view, TAKES_QUERY, False)
    faults = [
        Fault(name, "is given more than once" if declared else "is not known here")
        for name, values in request.args.lists()
        if not declared or len(values) > 1
    ]
    if faults:
        raise refused(QUERY_REFUSED, faults, "parameter")
