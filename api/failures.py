"""From what went wrong to a problem document."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from http import HTTPStatus
from uuid import uuid4

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException

from api.outages import refuse_worn_out, store_unavailable
from api.packs.reading import PackUnreadable
from api.problem_types import (
    BODY_TOO_LARGE,
    CALENDAR_TOO_NARROW,
    FACTS_REFUSED,
    INTERNAL_ERROR,
    MATERIAL_UNKNOWN,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    NOT_FOUND,
    PACK_FAULT,
    PACK_UNUSABLE,
    REQUEST_REFUSED,
)
from api.problems import Problem, refused
from api.request_ids import request_id
from api.snapshot import at_hand
from planning.order import StageCircle
from planning.timing.refusals import CalendarTooNarrow
from planning.timing.temporal import InconsistentWindows
from rules.decision import PackFault
from rules.engines.faults import EngineClosed
from rules.intake import FactsRefused
from rules.materials.resolve import MaterialUnknown
from rules.pack import Pack
from schemas.faults import Fault, faults_of_facts
from schemas.procedure.document import pack_named
from storage.faults import StoreUnavailable

_BY_STATUS = {kind.status: kind for kind in (NOT_FOUND, METHOD_NOT_ALLOWED, NOT_ACCEPTABLE, BODY_TOO_LARGE)}
_log = logging.getLogger("stagewright")


def answer_failures(app: Flask) -> None:
    """Answer everything that is raised with a problem document."""
    app.register_error_handler(Problem, lambda problem: problem.response())
    app.register_error_handler(FactsRefused, _facts_refused)
    app.register_error_handler(MaterialUnknown, _material_unknown)
    app.register_error_handler(CalendarTooNarrow, _calendar_too_narrow)
    app.register_error_handler(StoreUnavailable, store_unavailable)
    app.register_error_handler(PackUnreadable, _pack_unusable)
    for gone in (EngineClosed, MemoryError):
        app.register_error_handler(gone, _engine_gone)
    for fault in (PackFault, StageCircle, InconsistentWindows):
        app.register_error_handler(fault, _pack_fault)
    app.register_error_handler(HTTPException, _http_error)
    app.register_error_handler(Exception, _internal_error)


def pack_fault(pack: Pack, detail: str, rules: tuple[str, ...] = ()) -> Problem:
    """A problem that names the pack at fault and the rules concerned; it is logged."""
    _log.error("request %s: pack %s %s (%s): %s", request_id(), pack.name, pack.version, pack.digest, detail)
    told = f"{detail}. Mend the pack '{pack.name}' {pack.version} and activate it; nothing was issued"
    return Problem(PACK_FAULT, told, pack=pack_named(pack), rules=list(rules))


def _facts_refused(error: FactsRefused) -> Response:
    return refused(FACTS_REFUSED, faults_of_facts(error.faults)).response()


def _material_unknown(error: MaterialUnknown) -> Response:
    fault = Fault("/part/material", error.detail, error.text, error.suggestions)
    return refused(MATERIAL_UNKNOWN, [fault]).response()


def _calendar_too_narrow(error: CalendarTooNarrow) -> Response:
    return refused(CALENDAR_TOO_NARROW, [Fault("/calendar", str(error))]).response()


def _pack_fault(error: Exception) -> Response:
    rules: tuple[str, ...] = getattr(error, "rules", ())
    return pack_fault(at_hand().pack, str(error), rules).response()


def _pack_unusable(error: PackUnreadable) -> Response:
    _log.error("request %s: %s", request_id(), error)
    told = "the rule pack that your shop has put in force cannot be used any more; nothing was issued"
    return Problem(PACK_UNUSABLE, told).response()


def _engine_gone(error: Exception) -> Response:
    try:
        refuse_worn_out()
    except Problem as problem:
        return problem.response()
    return _internal_error(error)


def _http_error(error: HTTPException) -> Response:
    """Werkzeug's refusals, with the headers that belong to them (`Allow`, `Retry-After`, ...)."""
    status = error.code or HTTPStatus.INTERNAL_SERVER_ERROR
    kind = _BY_STATUS.get(status, REQUEST_REFUSED if status < 500 else INTERNAL_ERROR)
    return Problem(kind, _detail_of(error, status), headers=_headers_of(error), status=status).response()


def _detail_of(error: HTTPException, status: int) -> str:
    if status == HTTPStatus.NOT_FOUND:
        # The path is not repeated: it may hold the token of a link.
        told = "no call has this path; /openapi.json lists all of them"
        return f"{told}, none with a slash at its end" if request.path.endswith("/") else told
    return error.description or HTTPStatus(status).phrase


def _headers_of(error: HTTPException) -> Mapping[str, str]:
    return {name: value for name, value in error.get_headers() if name.lower() != "content-type"}


def _internal_error(error: Exception) -> Response:
    instance = f"urn:uuid:{uuid4()}"
    _log.error("request %s: %s", request_id(), instance, exc_info=error)
    return Problem(INTERNAL_ERROR, "the service failed; the log tells why", instance=instance).response()
