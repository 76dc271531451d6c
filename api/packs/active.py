"""The rule pack in force: read, changed and changed back, at once or from a moment on."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from flask import Response

from api.answers import answer
from api.keys.scopes import RULES
from api.nouns import ETAG, Noun
from api.packs.activating import API, PackOutOfDate
from api.packs.at_work import active_pack, find, service_only
from api.packs.documents import Document, activation_of, told_in_proof
from api.packs.preconditions import IF_MATCH, etag_of, expected_number, failed
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    NOTHING_TO_GO_BACK_TO,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    PRECONDITION_FAILED,
    PRECONDITION_REQUIRED,
    QUERY_REFUSED,
    SERVICE_ONLY,
    STORE_UNAVAILABLE,
)
from api.problems import MOST_ERRORS, Problem, refused
from api.snapshot import current
from schemas.faults import Fault
from schemas.figures import moment
from schemas.pack import ACTIVATIONS, ActivationRequest, ActiveQuery
from schemas.pack_answer import ActiveAnswer
from storage.audit import Who
from storage.faults import ActivationConflict, PackNotProven
from storage.records import Activation, KeptPack

activation = Noun("activation", __name__, url_prefix="/v1/packs/active", scope=RULES, description=__doc__)


@activation.at("")
@activation.asks(ActiveQuery)
@activation.gives(200, ActiveAnswer, "The pack in force.", headers=ETAG)
@activation.refuses(QUERY_REFUSED, STORE_UNAVAILABLE)
def read_active(query: dict[str, Any]) -> Response:
    """Read which rule pack is in force, what was before and what is to come.

    With `as_of`: at that moment, as decided so far.
    """
    if "as_of" not in query:
        return _answer_now()
    document = _document(query["as_of"])
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
    SERVICE_ONLY,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    PRECONDITION_FAILED,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    PRECONDITION_REQUIRED,
    STORE_UNAVAILABLE,
)
def activate_pack(body: Mapping[str, Any]) -> Response:
    """Put a proven rule pack in force, at once or from a moment to come.

    A later decision prevails over an earlier one, also over one that was still to come. Requests under
    way end with the pack they began with. Line items whose procedure changes are told by the event
    `procedure.superseded`.
    """
    by, store = service_only(), current().store
    number = expected_number(store.activations)
    pack = find(body["digest"])
    if pack is None:
        raise refused(BODY_REFUSED, [Fault("/digest", "is not the digest of a kept pack", body["digest"])])
    effective_from = body.get("effective_from")
    if effective_from is not None and effective_from <= datetime.now(UTC):
        told = "must lie in the future; leave it out to put the pack in force now"
        raise refused(BODY_REFUSED, [Fault("/effective_from", told, moment(effective_from))])
    _activate(pack, number, effective_from, by)
    return _answer_now()


@activation.at("/rollback", "POST")
@activation.needs(IF_MATCH)
@activation.gives(200, ActiveAnswer, "What is in force now.", headers=ETAG)
@activation.refuses(
    SERVICE_ONLY, NOTHING_TO_GO_BACK_TO, PRECONDITION_FAILED, PRECONDITION_REQUIRED, STORE_UNAVAILABLE
)
def roll_back() -> Response:
    """Put the rule pack in force again that was before; what was still to come is dropped.

    It is not proven again: it was in force.
    """
    by, activations = service_only(), current().store.activations
    number = expected_number(activations)
    in_force = activations.in_force(datetime.now(UTC))
    before = None if in_force is None else activations.before(in_force)
    if before is None:
        raise Problem(NOTHING_TO_GO_BACK_TO, "no other pack was in force before this one")
    try:
        active_pack().activate(before.pack_digest, number, API, once_more=True, by=by)
    except ActivationConflict as conflict:
        raise failed() from conflict
    return _answer_now()


def _activate(pack: KeptPack, number: int, effective_from: datetime | None, by: Who) -> None:
    try:
        active_pack().activate(pack.digest, number, API, effective_from, by=by)
    except ActivationConflict as conflict:
        raise failed() from conflict
    except PackOutOfDate as error:
        raise Problem(PACK_OUT_OF_DATE, str(error)) from error
    except PackNotProven as error:
        raise _not_proven(pack) from error


def _not_proven(pack: KeptPack) -> Problem:
    proof = current().store.packs.proof(pack.digest)
    if proof is None:
        told = f"the pack '{pack.name}' {pack.version} was not proven; POST /v1/packs/{pack.digest}/proof"
        return Problem(PACK_NOT_PROVEN, told)
    errors = told_in_proof(proof.document)
    told = f"the proof of the pack '{pack.name}' {pack.version} found {len(errors)} faults"
    return Problem(PACK_NOT_PROVEN, told, errors=errors[:MOST_ERRORS])


def _answer_now() -> Response:
    """What is in force at this moment, with the tag that `If-Match` is to send."""
    etag, _ = etag_of(current().store.activations)
    document = _document(datetime.now(UTC))
    if document is None:
        raise LookupError("no pack is in force")
    return answer(document, etag=etag)


def _document(at: datetime) -> Document | None:
    activations = current().store.activations
    in_force = activations.in_force(at)
    if in_force is None:
        return None
    before = activations.before(in_force)
    return {
        **_named(in_force),
        "as_of": None,
        "previous": before and _named(before),
        "upcoming": [_named(each) for each in activations.upcoming(at)],
    }


def _named(decided: Activation) -> Document:
    pack = current().store.packs.find(decided.pack_digest)
    if pack is None:
        raise LookupError(f"the pack {decided.pack_digest} is not kept")
    return activation_of(decided, pack)
