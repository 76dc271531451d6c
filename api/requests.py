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
    QUERY_REFUSED,
)
from api.problems import Problem, refused
from schemas.faults import Fault, faults_of_body, faults_of_query
from schemas.line_item.body import ProcedureRequest
from schemas.strict_json import MalformedJson, read_json

TAKES_QUERY = "takes_query"
"""The attribute that marks a view which declares query parameters."""


class StrictParser(FlaskParser):
    """Reads bodies with `schemas.strict_json` and raises problems that name every fault."""

    def _raw_load_json(self, req: Request) -> Any:
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
