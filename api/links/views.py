"""Links: an address that opens one procedure, or the drawing of its timeline, without a key."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Response, url_for

from api.answers import JSON, answer
from api.drawing import timeline_svg
from api.keys.checking import caller
from api.keys.scopes import ADMIN, LINE_ITEMS, OPEN
from api.links.opening import opened_by_link
from api.links.tokens import Claims, written
from api.nouns import Noun, header
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    LINK_EXPIRED,
    LINK_REFUSED,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PROCEDURE_UNKNOWN,
    QUERY_REFUSED,
    RATE_LIMITED,
    STORE_UNAVAILABLE,
)
from api.procedures import ID, SVG, kept_procedure
from api.shops import current_shop
from api.snapshot import store_in_use
from schemas.figures import moment
from schemas.links import LINKS, PROCEDURE, TIMELINE, LinkAnswer, LinkQuery, LinkRequest, LinksRevoked
from schemas.procedure.answer import ProcedureAnswer
from storage.records import KeptProcedure

ORIGIN = "api"
ADDRESSES = {PROCEDURE: "links.open_procedure", TIMELINE: "links.open_timeline"}
"""The view that a link leads to, by what it opens."""

TOKEN = {
    "in": "path",
    "name": "token",
    "description": "What the service signed.",
    "schema": {"type": "string", "minLength": 1},
}

links = Noun("links", __name__, scope=OPEN, description=__doc__)


@links.at("/v1/procedures/<procedure_id>/links", "POST", scope=LINE_ITEMS, parameters=[ID])
@links.repeatable
@links.asks(LinkQuery)
@links.takes(LinkRequest, LINKS)
@links.gives(201, LinkAnswer, "The link.", headers=header("Location", "What the link opens."))
@links.gives(200, LinkAnswer, "What a link would open; none was given.")
@links.refuses(
    MALFORMED_JSON,
    PROCEDURE_UNKNOWN,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
def create_link(query: dict[str, Any], body: dict[str, Any], procedure_id: str) -> Response:
    """Give out a link to a procedure, or to the drawing of its timeline, for somebody without a key.

    Nothing is kept of it: it holds until it expires, or the shop ends all its links, or the procedure is no
    longer kept.
    """
    procedure, opens = kept_procedure(procedure_id), body["opens"]
    expires_at = datetime.now(UTC).replace(microsecond=0) + timedelta(minutes=body["holds_min"])
    told = {"procedure": procedure.id, "opens": opens, "expires_at": moment(expires_at)}
    if query["dry_run"]:
        return answer({**told, "url": None, "dry_run": True})
    secret = store_in_use().links.secret_of(current_shop())
    claims = Claims(secret.handle, secret.version, expires_at, procedure.id)
    url = url_for(ADDRESSES[opens], token=written(claims, opens, secret))
    response = answer({**told, "url": url}, 201)
    response.location = url
    response.cache_control.no_store = True
    return response


@links.at("/v1/links/revoke", "POST", scope=ADMIN)
@links.gives(200, LinksRevoked, "From this moment on.")
@links.refuses(STORE_UNAVAILABLE)
def revoke_links() -> Response:
    """End every link that the shop has given out. Links given from now on hold."""
    who = caller()
    store_in_use().links.revoke(who.shop, ORIGIN, who)
    return answer({"revoked_at": moment(datetime.now(UTC))})


@links.at("/l/procedure/<token>", parameters=[TOKEN])
@links.gives(200, ProcedureAnswer, "The procedure, exactly as issued.")
@links.refuses(LINK_REFUSED, LINK_EXPIRED, RATE_LIMITED, STORE_UNAVAILABLE)
@opened_by_link(PROCEDURE)
def open_procedure(procedure: KeptProcedure) -> Response:
    """Open a procedure by its link."""
    return Response(json.dumps(procedure.document), content_type=JSON)


@links.at("/l/timeline/<token>", parameters=[TOKEN])
@links.draws(SVG, "The timeline.")
@links.refuses(LINK_REFUSED, LINK_EXPIRED, RATE_LIMITED, STORE_UNAVAILABLE)
@opened_by_link(TIMELINE)
def open_timeline(procedure: KeptProcedure) -> Response:
    """Open the drawing of a timeline by its link."""
    return Response(timeline_svg(procedure.document), content_type=f"{SVG}; charset=utf-8")
