"""Actuals: how long the stages of a procedure really took, and what their checks found."""

from __future__ import annotations

from typing import Any

from flask import Response

from api.actual_documents import actual_document
from api.answers import answer
from api.keys.scopes import LINE_ITEMS
from api.nouns import ETAG, Noun
from api.pages import LINK, page_answer
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PROCEDURE_UNKNOWN,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
from api.problems import refused
from api.procedures import ID, kept_procedure
from api.shops import current_shop
from api.snapshot import store_in_use
from schemas.actuals import ACTUALS, ActualsRequest, Body, faults_of_stages, predicted, spell_of
from schemas.actuals_answer import ActualsAnswer, ActualsTaken
from schemas.queries import ActualsQuery
from storage.actual_records import Report

actuals = Noun("actuals", __name__, url_prefix="/v1/procedures", scope=LINE_ITEMS, description=__doc__)


@actuals.at("/<procedure_id>/actuals", "POST", parameters=[ID])
@actuals.repeatable
@actuals.takes(ActualsRequest, ACTUALS)
@actuals.gives(200, ActualsTaken, "What has become of each report.")
@actuals.refuses(
    MALFORMED_JSON,
    PROCEDURE_UNKNOWN,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    STORE_UNAVAILABLE,
)
def report_actuals(body: Body, procedure_id: str) -> Response:
    """Report how long stages of a procedure really took.

    What is reported moves the estimates of later procedures of the shop; this one stays as it was issued.
    A report that can't be right is kept, and set aside with its reason. The very same report again changes
    nothing; another one on the same stage takes the place of the one before.
    """
    procedure, shop, store = kept_procedure(procedure_id), current_shop(), store_in_use()
    stages = {stage["stage"]: stage for stage in procedure.document["stages"]}
    faults = faults_of_stages(body, list(stages))
    if faults:
        raise refused(BODY_REFUSED, faults)
    taken = store.actuals.keep(shop, procedure.id, [_report(entry, stages) for entry in body["actuals"]])
    items = [{**actual_document(each.actual), "repeated": each.repeated} for each in taken]
    return answer({"procedure": procedure.id, "items": items})


@actuals.at("/<procedure_id>/actuals", parameters=[ID])
@actuals.asks(ActualsQuery)
@actuals.gives(200, ActualsAnswer, "Reports on the procedure, in the order they came.", headers=ETAG | LINK)
@actuals.refuses(PROCEDURE_UNKNOWN, QUERY_REFUSED, STORE_UNAVAILABLE)
def read_actuals(query: dict[str, Any], procedure_id: str) -> Response:
    """Read what was reported on a procedure, and what has become of it."""
    procedure, shop = kept_procedure(procedure_id), current_shop()
    return page_answer(
        "actuals.read_actuals",
        query,
        lambda limit, cursor: store_in_use().actuals.of_procedure(shop, procedure.id, limit, cursor),
        actual_document,
        {"procedure": procedure.id},
        procedure_id=procedure.id,
    )


def _report(entry: Body, stages: dict[str, Any]) -> Report:
    median_min, spread = predicted(stages[entry["stage"]])
    check = entry.get("check") or {}
    return Report(
        stage=entry["stage"],
        spell=spell_of(entry),
        predicted_min=median_min,
        predicted_spread=spread,
        check_passed=check["result"] == "passed" if check else None,
        check_note=check.get("note"),
        remark=entry.get("remark"),
    )
