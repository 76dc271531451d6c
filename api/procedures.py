"""Procedures: issued for a line item, read back as issued, drawn and explained."""

from __future__ import annotations

from typing import Any

from flask import Response, request, url_for
from werkzeug.routing import BaseConverter

from api.answers import JSON, answer, conditional
from api.drawing import timeline_svg
from api.explaining import explained
from api.idempotency.repeating import kept_together
from api.issuing import issue
from api.keys.scopes import LINE_ITEMS
from api.nouns import ETAG, Noun, header
from api.pages import LINK, page_answer
from api.problem_types import (
    BODY_TOO_LARGE,
    CALENDAR_TOO_NARROW,
    ENGINE_WORN_OUT,
    FACTS_REFUSED,
    LINE_ITEM_REFUSED,
    MALFORMED_JSON,
    MATERIAL_UNKNOWN,
    MEDIA_TYPE_UNSUPPORTED,
    NOT_ACCEPTABLE,
    PACK_FAULT,
    PROCEDURE_UNKNOWN,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
from api.problems import Problem
from api.sandbox.triggers import answered_as
from api.shops import current_shop
from api.snapshot import current, store_in_use
from schemas.examples import LINE_ITEMS as EXAMPLES
from schemas.explanation import ExplanationAnswer
from schemas.line_item.body import Body, ProcedureRequest
from schemas.procedure.answer import ProcedureAnswer, ProcedureList, TimelineAnswer
from schemas.procedure.document import is_identifier, timeline_answer
from schemas.queries import ExplanationQuery, IssuingQuery, ProceduresQuery
from storage.records import KeptProcedure

SVG = "image/svg+xml"
ID = {
    "in": "path",
    "name": "procedure_id",
    "description": "The `id` of the procedure.",
    "schema": {"type": "string", "minLength": 1},
}
LOCATION = header("Location", "The procedure.")


class ProcedureConverter(BaseConverter):
    """What may stand for an id in a path; `batch` stands for something else."""

    regex = r"(?!batch$)[^/]+"


procedures = Noun("procedures", __name__, url_prefix="/v1/procedures", scope=LINE_ITEMS, description=__doc__)


@procedures.at("", "POST")
@procedures.repeatable
@procedures.asks(IssuingQuery)
@procedures.takes(ProcedureRequest, EXAMPLES)
@procedures.gives(201, ProcedureAnswer, "The procedure, issued and kept.", headers=ETAG | LOCATION)
@procedures.gives(200, ProcedureAnswer, "The procedure of a dry run; nothing was kept.")
@procedures.refuses(
    MALFORMED_JSON,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    LINE_ITEM_REFUSED,
    FACTS_REFUSED,
    CALENDAR_TOO_NARROW,
    MATERIAL_UNKNOWN,
    QUERY_REFUSED,
    PACK_FAULT,
    ENGINE_WORN_OUT,
    STORE_UNAVAILABLE,
)
def create_procedure(query: dict[str, Any], line_item: Body) -> Response:
    """Issue the procedure for a line item.

    The same content always yields the same `id`, so that a request can be repeated without harm.
    """
    kept = issue(answered_as(line_item), current(), query["dry_run"], kept_together(created))
    return tried(kept) if query["dry_run"] else created(kept)


def created(kept: KeptProcedure) -> Response:
    """What is answered where a procedure was issued."""
    response = answer(kept.document, 201, etag=kept.id)
    response.location = url_for("procedures.read_procedure", procedure_id=kept.id)
    return response


def tried(procedure: KeptProcedure) -> Response:
    """What is answered where a procedure would have been issued."""
    return answer({**procedure.document, "dry_run": True})


@procedures.at("")
@procedures.asks(ProceduresQuery)
@procedures.gives(200, ProcedureList, "Procedures of the line item, last issued first.", headers=ETAG | LINK)
@procedures.refuses(QUERY_REFUSED, STORE_UNAVAILABLE)
def find_procedures(query: dict[str, Any]) -> Response:
    """Find the procedures of a line item."""
    return page_answer(
        "procedures.find_procedures",
        query,
        lambda limit, cursor: store_in_use().procedures_of(current_shop(), query["line_item"], limit, cursor),
        lambda kept: kept.document,
    )


@procedures.at("/<procedure:procedure_id>", parameters=[ID])
@procedures.gives(200, ProcedureAnswer, "The procedure, exactly as issued.", headers=ETAG)
@procedures.refuses(PROCEDURE_UNKNOWN, STORE_UNAVAILABLE)
def read_procedure(procedure_id: str) -> Response:
    """Read a procedure back."""
    kept = kept_procedure(procedure_id)
    return answer(kept.document, etag=kept.id)


@procedures.at("/<procedure_id>/timeline", parameters=[ID])
@procedures.gives(200, TimelineAnswer, "The timeline.", headers=ETAG)
@procedures.draws(SVG, "The timeline.")
@procedures.refuses(PROCEDURE_UNKNOWN, NOT_ACCEPTABLE, STORE_UNAVAILABLE)
def read_timeline(procedure_id: str) -> Response:
    """Read a procedure's timeline, as JSON or as a drawing."""
    kept = kept_procedure(procedure_id)
    if _wanted() == SVG:
        response = conditional(Response(timeline_svg(kept.document), content_type=f"{SVG}; charset=utf-8"))
    else:
        response = answer(timeline_answer(kept.document))
    response.vary.add("Accept")
    return response


@procedures.at("/<procedure_id>/explanation", parameters=[ID])
@procedures.asks(ExplanationQuery)
@procedures.gives(200, ExplanationAnswer, "Why, and why not.", headers=ETAG)
@procedures.refuses(PROCEDURE_UNKNOWN, QUERY_REFUSED, PACK_FAULT, ENGINE_WORN_OUT, STORE_UNAVAILABLE)
def read_explanation(query: dict[str, Any], procedure_id: str) -> Response:
    """Explain a procedure: which rules asked for what, and why the others did nothing.

    Explained by the pack it was issued under, whatever pack is active now.
    """
    return answer(explained(kept_procedure(procedure_id), current(), query.get("rule")))


def kept_procedure(procedure_id: str) -> KeptProcedure:
    """The procedure with this id. Raises Problem where there is none."""
    kept = store_in_use().procedure(current_shop(), procedure_id) if is_identifier(procedure_id) else None
    if kept is None:
        raise Problem(PROCEDURE_UNKNOWN, f"no procedure has the id '{procedure_id[:60]}'")
    return kept


def _wanted() -> str:
    """The media type to draw the timeline in. Raises Problem where `Accept` leaves out both."""
    if not request.accept_mimetypes:
        return JSON
    wanted = request.accept_mimetypes.best_match([JSON, SVG])
    if wanted is None:
        detail = f"the timeline is sent as {JSON} or {SVG}"
        raise Problem(NOT_ACCEPTABLE, detail, headers={"Vary": "Accept"})
    return wanted
