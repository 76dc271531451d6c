"""After a crash: what was acknowledged is there as it was told, what was not is done once or not at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from urllib.parse import quote

from endurance.calling import Answer, Caller
from endurance.crash.databases import Database
from endurance.crash.ledger import Asked, Kind
from schemas.procedure.document import identifier_of

AT_WORK = "at work"
DONE, ANEW = "done", "done anew"


def faults_of_acknowledged(asked: Asked, caller: Caller, keys_may_be_lost: bool = False) -> Iterator[str]:
    """What is wrong with a request that was answered, and with what is kept of it.

    Only the answer with a procedure is kept in the transaction of what was done. Where the database fails,
    not the service, others may be given without being kept: `keys_may_be_lost`. They are done anew, to the
    same end.
    """
    if asked.answer is None or asked.answer.status not in (200, 201):
        yield f"{asked.key}: answered {asked.answer}"
        return
    again = caller.post(asked.path, asked.body, asked.key)
    same = again.replayed and again.body == asked.answer.body
    anew = keys_may_be_lost and asked.kind is not Kind.PROCEDURE and not again.replayed
    if again.status != asked.answer.status or not (same or anew):
        yield f"{asked.key}: sent again, it is answered {again.status}, replayed: {again.replayed}"
    yield from faults_of_kept(asked, caller)


def faults_of_all(
    asked: Sequence[Asked], caller: Caller, database: Database, keys_may_be_lost: bool = False
) -> list[str]:
    """The same of all that was asked of a service, and what is wrong with its database then."""
    each = [fault for one in asked for fault in faults_of_acknowledged(one, caller, keys_may_be_lost)]
    return [*each, *database.faults(sum(len(one.procedures()) for one in asked))]


def faults_of_kept(asked: Asked, caller: Caller) -> Iterator[str]:
    """What is wrong with what is kept of a request that was answered."""
    for document in asked.procedures():
        yield from _faults_of_procedure(asked, document, caller)
    if asked.kind is Kind.ACTUALS:
        kept = caller.get(asked.path).json()["items"]
        counted = Counter((report["stage"], report["work_min"]) for report in kept)
        for report in asked.body["actuals"]:
            times = counted[report["stage"], report["work_min"]]
            if times != 1:
                yield f"{asked.key}: a report is kept {times} times: {report}"


def _faults_of_procedure(asked: Asked, document: dict[str, object], caller: Caller) -> Iterator[str]:
    if "id" not in document:
        yield f"{asked.key}: a line item was refused: {document}"
        return
    read = caller.get(f"/v1/procedures/{document['id']}")
    if read.status != 200 or read.json() != document:
        yield f"{asked.key}: {document['id']} is read as another one, or not at all ({read.status})"
    if identifier_of(document) != document["id"]:
        yield f"{asked.key}: {document['id']} is not the digest of its content"
    named: dict[str, str] = document["line_item"]  # type: ignore[assignment]
    listed = caller.get(f"/v1/procedures?line_item={quote(named['reference'])}").json()["items"]
    if [each["id"] for each in listed] != [document["id"]]:
        yield f"{asked.key}: the line item {named['reference']} has {len(listed)} procedures"


def repeat(asked: Asked, caller: Caller, let_leases_end: Callable[[], object]) -> str:
    """Send what was cut off once more, as shop software does; what had become of it.

    `let_leases_end` lets the time pass after which the key of a request that died is free again.
    """
    asked.answer = caller.post(asked.path, asked.body, asked.key)
    became = DONE if asked.answer.replayed else ANEW
    if _at_work(asked.answer):
        let_leases_end()
        became = AT_WORK
        asked.answer = caller.post(asked.path, asked.body, asked.key)
    return became


def _at_work(answer: Answer) -> bool:
    return answer.status == 409 or (
        answer.status == 200 and b"/problems/idempotency-key-running" in answer.body
    )
