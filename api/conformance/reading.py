"""What a client makes of answers: of members and refusals that are new to it, of money and of lists."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from api.conformance.driver import Done
from api.conformance.faults import UNKNOWN_TYPE, changed, unknown_problem
from api.conformance.kit import Kit, line_item_of, posts
from api.conformance.model import Check
from api.conformance.scale import MOST_TRIES
from api.problem_types import FACTS_REFUSED

MEMBERS_UNKNOWN = Check(
    "unknown-members-borne",
    "members that it does not know do it no harm",
    "Within a version members are added. A client that refuses them stops to work on the day of an update.",
    "Read the members that you need, and leave the others out of account.",
)
PROBLEM_READ = Check(
    "problem-read",
    "of a refusal it knows `status`, `type` and the places in `errors`",
    "They tell whoever wrote the line item what to mend. Without them there is only `it did not work`.",
    "Read `application/problem+json`: go by `status` and `type`, and show `errors` to people.",
)
PROBLEM_UNKNOWN = Check(
    "unknown-problem-borne",
    "a kind of problem that it does not know is a refusal like others of its status",
    "Kinds of problems are added. Their `status` always says what is to be done.",
    "Decide by `status` first; know a `type` only where it matters, and have a way out for all others.",
)
DECIMALS_KEPT = Check(
    "decimals-kept",
    "money is a decimal number, and stays what it was to the last digit",
    "Binary fractions cannot hold most amounts. What is a cent off is found in the accounts, much later.",
    "Read and write amounts as text, and reckon with a decimal type.",
)
PAGES_FOLLOWED = Check(
    "pages-followed",
    'a list is read to its end, by `Link: rel="next"`',
    "A list comes a page at a time. Who reads the first page alone believes that there is no more.",
    "Follow the address in `Link` as it stands until there is none.",
)
REVALIDATES = Check(
    "revalidates",
    "what it keeps it asks about with `If-None-Match`, and takes 304 for `still so`",
    "What was read may be used again only when the service says so; then it is not sent anew.",
    "Send the `ETag` as `If-None-Match`, in its quotes, and use what you have where the answer is 304.",
)

CHECKS = (MEMBERS_UNKNOWN, PROBLEM_READ, PROBLEM_UNKNOWN, DECIMALS_KEPT, PAGES_FOLLOWED, REVALIDATES)

_AMOUNT = "841234567890123456.35"
"""More digits than a binary fraction holds."""

Document = Mapping[str, Any]


def play_reading(kit: Kit) -> None:
    """All of them."""
    _, done = kit.create(*[changed(_with_members_to_come)] * MOST_TRIES)
    kit.judge.hold(MEMBERS_UNKNOWN, done.done and bool(done.procedure_ids), done.in_words())
    _refuse(kit)
    _count_money(kit)
    _list(kit)
    _read_twice(kit)


def _with_members_to_come(document: Document) -> Document:
    """Of a later version: members more in the answer, and deeper in it."""
    stages = [{**stage, "crew": {"least": 1}} for stage in document["stages"]]
    return {**document, "stages": stages, "foreseen": ["something", {"more": None}]}


def _refuse(kit: Kit) -> None:
    scene, done = kit.create(damage={"type": "crak", "length_mm": 80})
    if len(posts(scene)) == 1:
        told = f"it was refused with {FACTS_REFUSED.status} `{FACTS_REFUSED.uri}` at `/damage/type`"
        read = _is_read(done, FACTS_REFUSED.uri) and "/damage/type" in (done.problem or {})["pointers"]
        kit.judge.hold(PROBLEM_READ, read, f"{told}; {done.in_words()}")
    scene, done = kit.create(*[unknown_problem] * MOST_TRIES)
    if len(posts(scene)) == 1:
        told = f"it was refused with 422 `{UNKNOWN_TYPE}`; {done.in_words()}"
        kit.judge.hold(PROBLEM_UNKNOWN, _is_read(done, UNKNOWN_TYPE), told)


def _is_read(done: Done, uri: str) -> bool:
    """Addresses are resolved or not; both are right."""
    problem = done.problem or {}
    return problem.get("status") == 422 and str(problem.get("type")).endswith(uri)


def _count_money(kit: Kit) -> None:
    scene, done = kit.create(*[changed(_with_much_money)] * MOST_TRIES)
    told = f"`cost.total` was '{_AMOUNT}'; the client has '{done.amount}'"
    kit.judge.hold(DECIMALS_KEPT, _is_amount(done.amount), told)
    given = line_item_of("x")["rates"]
    for sent in posts(scene)[:1]:
        rates = sent.document.get("rates") if isinstance(sent.document, dict) else None
        kit.judge.hold(DECIMALS_KEPT, rates == given, f"`rates` are sent otherwise than given: {rates}")


def _with_much_money(document: Document) -> Document:
    return {**document, "cost": {**document["cost"], "total": _AMOUNT}}


def _is_amount(text: str | None) -> bool:
    try:
        return text is not None and Decimal(text) == Decimal(_AMOUNT)
    except InvalidOperation:
        return False


def _list(kit: Kit) -> None:
    reference, issued = kit.reference(), list[str]()
    with kit.scene(reference):
        for length_mm in (40, 60, 80):
            damage = {"type": "gouge", "length_mm": length_mm, "depth_mm": 2}
            issued += kit.driver.create(line_item_of(reference, damage=damage)).procedure_ids
        found = kit.driver.find(reference)
    if len(issued) == 3:
        told = f"{len(found.procedure_ids)} of 3 procedures were found; {found.in_words()}"
        kit.judge.hold(PAGES_FOLLOWED, found.procedure_ids == tuple(reversed(issued)), told)


def _read_twice(kit: Kit) -> None:
    if not kit.caches:
        kit.judge.leave_out(REVALIDATES, "the client says that it does not cache")
        return
    _, done = kit.create()
    for procedure_id in done.procedure_ids:
        with kit.scene(procedure_id) as scene:
            read = [kit.driver.read(procedure_id) for _ in range(2)]
        asked = [each.headers.get("If-None-Match") for each in scene.seen]
        same = all(each.procedure_ids == (procedure_id,) for each in read)
        right = same and asked[1:] == [f'"{procedure_id}"']
        told = f"read twice, it sent If-None-Match: {', '.join(map(str, asked))}; {read[-1].in_words()}"
        kit.judge.hold(REVALIDATES, right, told)
