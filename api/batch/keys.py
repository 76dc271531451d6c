"""Keys of the line items of a batch: the same as `Idempotency-Key` of a line item that is sent alone."""

from __future__ import annotations

import logging
from collections.abc import Sequence

from flask import Response

from api.batch.item import Item, failures_answer
from api.idempotency.asking import as_kept, digest_of_item, is_final, problem_of, replayed
from api.idempotency.keys import key_in_item
from api.procedures import procedures
from api.request_ids import request_id
from api.shops import current_shop
from schemas.line_item.batch import KEY
from storage.faults import StoreUnavailable
from storage.idempotency import Asked, Begun, GivenAnswer, Idempotency, Outcome, Taken

_log = logging.getLogger("stagewright")


def take_key(item: Item) -> None:
    """Take its key out of a line item; a key that cannot be used is its answer."""
    if not isinstance(item.given, dict) or KEY not in item.given:
        return
    key, item.given = item.given[KEY], {name: item.given[name] for name in item.given if name != KEY}
    if key is not None:
        with failures_answer(item):
            item.asked = Asked(key_in_item(key), digest_of_item(procedures.url_prefix, item.given))


def begin(items: Sequence[Item], keys: Idempotency) -> None:
    """Begin what has a key, or answer it; a key that comes a second time waits for the first."""
    firsts: dict[str, Item] = {}
    for item in items:
        if item.asked is not None:
            first = firsts.setdefault(item.asked.key, item)
            item.repeats = None if first is item else first
    asked = [item.asked for item in firsts.values() if item.asked is not None]
    for item, outcome in zip(firsts.values(), keys.begin(current_shop(), asked), strict=True):
        _take(item, outcome)


def end(items: Sequence[Item], keys: Idempotency) -> None:
    """Keep the answers of what was begun, and give them to what repeats it."""
    answered = [(item.begun, item.response) for item in items if item.begun and item.response]
    try:
        final = [(begun, as_kept(response)) for begun, response in answered if is_final(response)]
        keys.finish(current_shop(), final)
        keys.free(current_shop(), [begun for begun, response in answered if not is_final(response)])
    except StoreUnavailable as error:
        # The work is done and the answers are right; only repetitions will not find them.
        _log.warning("request %s: answers are not kept for their keys: %s", request_id(), error)
    for item in items:
        if item.repeats is not None:
            item.response = _repeated(item, item.repeats)


def _take(item: Item, outcome: Outcome) -> None:
    match outcome:
        case Begun():
            item.begun = outcome
        case GivenAnswer():
            item.response = replayed(outcome)
        case Taken():
            item.response = problem_of(outcome).response()


def _repeated(item: Item, first: Item) -> Response | None:
    same = item.asked is not None and first.asked is not None and item.asked.digest == first.asked.digest
    return first.response if same else problem_of(Taken.DIFFERENT).response()
