"""The rule pack in force: read, changed and changed back, at once or from a moment on.

A shop has its own, or follows that of the service.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from flask import Response

from api.answers import answer
from api.keys.checking import caller
from api.keys.scopes import RULES
from api.nouns import ETAG, Noun
from api.packs.activating import PackOutOfDate
from api.packs.at_work import active_pack, find, turn_to_work
from api.packs.documents import told_in_proof
from api.packs.in_force_document import in_force_document
from api.packs.preconditions import IF_MATCH, etag_of, expected_number, failed
from api.packs.service_pack import API
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    NOTHING_TO_GO_BACK_TO,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    PACK_WORK_RUNNING,
    PRECONDITION_FAILED,
    PRECONDITION_REQUIRED,
    QUERY_REFUSED,
    STORE_UNAVAILABLE,
)
from api.problems import MOST_ERRORS, Problem, refused
from api.shops import LOCAL, current_shop
from api.snapshot import store_in_use
from schemas.faults import Fault
from schemas.figures import moment
from schemas.pack import ACTIVATIONS, ActivationRequest, ActiveQuery
from schemas.pack_answer import ActiveAnswer
from storage.faults import ActivationConflict, PackNotProven

activation = Noun("activation", __name__, url_prefix="/v1/packs/active", scope=RULES, description=__doc__)


@activation.at("")
@activation.asks(ActiveQuery)
@activation.gives(200, ActiveAnswer, "The pack in force.", headers=ETAG)
@activation.refuses(QUERY_REFUSED, STORE_UNAVAILABLE)
def read_active(query: dict[str, Any]) -> Response:
    """Read which rule pack is in force for the shop, what was before and what is to come.

    With `as_of`: at that moment, as decided so far.
    """
    if "as_of" not in query:
        return _answer_now()
    document = in_force_document(current_shop(), query["as_of"])
    if document is None:
        fault = Fault("as_of", "is before any pack was in force", moment(query["as_of"]))
        raise refused(QUERY_REFUSED, [fault], "parameter")
    return answer({**document, "as_of": moment(query["as_of"])})


@activation.at("", "PUT")
@activation.needs(IF_MATCH)
@activation.takes(ActivationRequest, ACTIVATIONS)
@activation.gives(200, ActiveAnswer, "What is in force now.", headers=ETAG)
@activation.refuses(
    MALFORMED_JSON,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    PRECONDITION_FAILED,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    PRECONDITION_REQUIRED,
    PACK_WORK_RUNNING,
    STORE_UNAVAILABLE,
)
def activate_pack(body: Mapping[str, Any]) -> Response:
    """Put a proven rule pack of the shop in force for its line items, at once or from a moment to come.

    A later decision prevails over an earlier one, also over one that was still to come. Requests under
    way end with the pack they began with. Line items whose procedure changes are told by the event
    `procedure.superseded`. The pack that a key of the shop `local` puts in force is that of the service: all
    shops that have none of their own follow it.
    """
    shop = current_shop()
    number = expected_number(store_in_use().activations, shop)
    digest = _chosen(shop, body["digest"])
    effective_from = body.get("effective_from")
    if effective_from is not None and effective_from <= datetime.now(UTC):
        told = "must lie in the future; leave it out to put the pack in force now"
        raise refused(BODY_REFUSED, [Fault("/effective_from", told, moment(effective_from))])
    _activate(shop, digest, number, effective_from)
    return _answer_now()


@activation.at("/rollback", "POST")
@activation.needs(IF_MATCH)
@activation.gives(200, ActiveAnswer, "What is in force now.", headers=ETAG)
@activation.refuses(
    NOTHING_TO_GO_BACK_TO, PRECONDITION_FAILED, PRECONDITION_REQUIRED, PACK_WORK_RUNNING, STORE_UNAVAILABLE
)
def roll_back() -> Response:
    """Put the rule pack in force again that was before; what was still to come is dropped.

    It is not proven again: it was in force. A shop goes back from its first pack to that of the service.
    """
    shop, activations = current_shop(), store_in_use().activations
    number = expected_number(activations, shop)
    holds = activations.decided(shop, datetime.now(UTC))
    before = None if holds is None else activations.before(holds)
    if holds is None or (before is None and (holds.follows or shop == LOCAL)):
        raise Problem(NOTHING_TO_GO_BACK_TO, "no other pack was in force before this one")
    _activate(shop, None if before is None else before.pack_digest, number, once_more=True)
    return _answer_now()


def _chosen(shop: str, digest: str | None) -> str | None:
    """The same, where the shop may put that in force. Raises Problem."""
    if digest is None and shop != LOCAL:
        return None
    pack = find(digest) if digest is not None else None
    if pack is None:
        told = "is not the digest of a kept pack"
    elif pack.shop != shop:
        told = "is a pack of the service; write null to work by the one that the service has in force"
    elif shop != LOCAL and not store_in_use().activations.was_decided(LOCAL, pack.laid_on or ""):
        told = "is not laid on a pack that the service has put in force; upload the overlay again"
    else:
        return digest
    raise refused(BODY_REFUSED, [Fault("/digest", told, digest)])


def _activate(
    shop: str,
    digest: str | None,
    number: int,
    effective_from: datetime | None = None,
    once_more: bool = False,
) -> None:
    try:
        with turn_to_work():
            active_pack().activate(shop, digest, number, API, effective_from, once_more, caller())
    except ActivationConflict as conflict:
        raise failed() from conflict
    except PackOutOfDate as error:
        raise Problem(PACK_OUT_OF_DATE, str(error)) from error
    except PackNotProven as error:
        raise _not_proven(shop, digest or "") from error


def _not_proven(shop: str, digest: str) -> Problem:
    packs = store_in_use().packs
    pack, proof = packs.find(shop, digest), packs.proof(shop, digest)
    named = "pack" if pack is None else f"pack '{pack.name}' {pack.version}"
    if proof is None:
        return Problem(PACK_NOT_PROVEN, f"the {named} was not proven; POST /v1/packs/{digest}/proof")
    errors = told_in_proof(proof.document)
    told = f"the proof of the {named} found {len(errors)} faults"
    return Problem(PACK_NOT_PROVEN, told, errors=errors[:MOST_ERRORS])


def _answer_now() -> Response:
    """What is in force at this moment, with the tag that `If-Match` is to send."""
    shop = current_shop()
    etag, _ = etag_of(store_in_use().activations, shop)
    document = in_force_document(shop, datetime.now(UTC))
    if document is None:
        raise LookupError("no pack is in force")
    return answer(document, etag=etag)
