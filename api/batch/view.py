"""Batches: procedures for many line items in one request."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response

from api.answers import JSON
from api.batch.answering import answers
from api.batch.results import results
from api.idempotency.repeating import let_go
from api.keys.scopes import LINE_ITEMS
from api.limiting.holding import count_items
from api.nouns import Noun
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
from schemas.line_item.batch import BATCHES, BatchAnswer, BatchRequest
from schemas.queries import IssuingQuery

MAX_BATCH_BYTES = "MAX_BATCH_BYTES"
"""The name, in the configuration of the application, of the bound on the body of a batch."""

batches = Noun("batches", __name__, url_prefix="/v1/procedures", scope=LINE_ITEMS, description=__doc__)


@batches.at("/batch", "POST")
@batches.repeatable
@batches.bounded(MAX_BATCH_BYTES)
@batches.asks(IssuingQuery)
@batches.takes(BatchRequest, BATCHES)
@batches.gives(200, BatchAnswer, "What has become of each line item.")
@batches.refuses(
    MALFORMED_JSON,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
def create_procedures(query: dict[str, Any], batch: Mapping[str, Any]) -> Response:
    """Issue the procedures for up to 500 line items.

    Each is answered as if it were sent alone: with its procedure, or with the problem it would get, which
    has its `index`. One that is refused spoils no other. All are decided by one rule pack. Where the
    database fails midway, the line items that were not kept get a problem of status 503; send the batch
    again. Pointers in `errors` are into the line item.
    """
    count_items(len(batch["line_items"]))
    given = answers(batch["line_items"], query["dry_run"])
    if any(each.status_code >= 500 for each in given):
        let_go()
    response = Response(results(given), content_type=JSON)
    response.cache_control.private = True
    response.cache_control.no_cache = True
    return response
