"""Estimates: what the finished jobs of a shop say about its stages; frozen, begun anew and exported."""

from __future__ import annotations

from itertools import chain, islice
from typing import Any

from flask import Response, request

from api.actual_documents import as_csv, as_json_lines, estimate_document, estimates_document
from api.answers import answer
from api.keys.checking import caller
from api.keys.scopes import ADMIN, LINE_ITEMS
from api.nouns import ETAG, Noun
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    NOT_ACCEPTABLE,
    STAGE_UNKNOWN,
    STORE_UNAVAILABLE,
)
from api.problems import Problem
from api.shops import current_shop
from api.snapshot import current, store_in_use
from schemas.estimates import FREEZE, EstimateAnswer, EstimateList, FreezeRequest

JSON_LINES, CSV = "application/jsonl", "text/csv"
ORIGIN = "api"
STAGE = {
    "in": "path",
    "name": "stage",
    "description": "The stage, as the catalogue names it.",
    "schema": {"type": "string", "minLength": 1},
}

estimates = Noun("estimates", __name__, url_prefix="/v1/estimates", scope=LINE_ITEMS, description=__doc__)
reports = Noun("reports", __name__, url_prefix="/v1/actuals", scope=ADMIN, description="Every report.")


@estimates.at("")
@estimates.gives(200, EstimateList, "What was learned so far.", headers=ETAG)
@estimates.refuses(STORE_UNAVAILABLE)
def list_estimates() -> Response:
    """List what the shop's finished jobs say about its stages.

    A stage that is not here goes by the catalogue. The mean of what is expected is never told: with so few
    jobs it does not exist.
    """
    snapshot = current()
    return answer(estimates_document(snapshot.store, current_shop(), snapshot.pack))


@reports.at("")
@reports.draws(JSON_LINES, "Every report of the shop, one JSON object a line.")
@reports.draws(CSV, "Every report of the shop, as a table.")
@reports.refuses(NOT_ACCEPTABLE, STORE_UNAVAILABLE)
def export_actuals() -> Response:
    """Export every report of the shop, also those nothing is learned from."""
    wanted = JSON_LINES
    if request.accept_mimetypes:
        wanted = request.accept_mimetypes.best_match([JSON_LINES, CSV]) or ""
    if not wanted:
        detail = f"reports are exported as {JSON_LINES} or {CSV}"
        raise Problem(NOT_ACCEPTABLE, detail, headers={"Vary": "Accept"})
    write = as_csv if wanted == CSV else as_json_lines
    found = store_in_use().actuals.of_shop(current_shop())
    # A database that does not answer is told before the answer begins.
    first = list(islice(found, 1))
    response = Response(write(chain(first, found)), content_type=f"{wanted}; charset=utf-8")
    response.cache_control.no_store = True
    response.vary.add("Accept")
    return response


@estimates.at("/<stage>", parameters=[STAGE])
@estimates.gives(200, EstimateAnswer, "What was learned of the stage.", headers=ETAG)
@estimates.refuses(STAGE_UNKNOWN, STORE_UNAVAILABLE)
def read_estimate(stage: str) -> Response:
    """Read what the shop's finished jobs say about one stage."""
    return _answered(_known(stage))


@estimates.at("/<stage>", "PUT", scope=ADMIN, parameters=[STAGE])
@estimates.takes(FreezeRequest, FREEZE)
@estimates.gives(200, EstimateAnswer, "The estimate as it is now.", headers=ETAG)
@estimates.refuses(
    MALFORMED_JSON,
    STAGE_UNKNOWN,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    STORE_UNAVAILABLE,
)
def freeze_estimate(body: dict[str, Any], stage: str) -> Response:
    """Freeze the estimate of a stage, or let reports move it again.

    While it is frozen reports are kept; they count once it no longer is.
    """
    held = store_in_use().estimates
    change = held.freeze if body["frozen"] else held.unfreeze
    change(current_shop(), _known(stage), ORIGIN, caller())
    return _answered(stage)


@estimates.at("/<stage>/reset", "POST", scope=ADMIN, parameters=[STAGE])
@estimates.repeatable
@estimates.gives(200, EstimateAnswer, "The estimate as it is now.", headers=ETAG)
@estimates.refuses(STAGE_UNKNOWN, STORE_UNAVAILABLE)
def reset_estimate(stage: str) -> Response:
    """Begin the estimate of a stage anew from the catalogue.

    Reports so far are kept and no longer count; later ones do.
    """
    store_in_use().estimates.reset(current_shop(), _known(stage), ORIGIN, caller())
    return _answered(stage)


def _known(stage: str) -> str:
    """The same name. Raises Problem where the catalogue does not have it."""
    if stage not in current().pack.stages:
        raise Problem(STAGE_UNKNOWN, f"the catalogue has no stage '{stage[:60]}'")
    return stage


def _answered(stage: str) -> Response:
    snapshot = current()
    return answer(estimate_document(snapshot.store, current_shop(), snapshot.pack, stage))
