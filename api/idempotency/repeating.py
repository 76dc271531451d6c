"""Around every request with an `Idempotency-Key`: its first answer is kept, and given again.

Begun before the view reads anything, so that refusals are kept like answers; not begun for who may not
ask, and for a body that is too large to be read.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence

from flask import Flask, Response, current_app, g, request

from api.idempotency.asking import as_kept, digest_of, is_final, problem_of, replayed
from api.idempotency.describing import REPEATABLE
from api.idempotency.keys import HEADER, key_in_header
from api.request_ids import request_id
from api.shops import current_shop
from api.snapshot import store_in_use
from storage.faults import StoreUnavailable
from storage.idempotency import Asked, Begun, Done, GivenAnswer, Taken
from storage.records import KeptProcedure
from storage.store import Answers

_log = logging.getLogger("stagewright")


def answer_repeated(app: Flask) -> None:
    """Answer what is asked again as the first time, in every view that is declared `repeatable`."""
    app.before_request(_begin)
    app.after_request(_end)


def let_go() -> None:
    """Let the key of this request be used again, whatever its answer will be: not all of it was done."""
    g.idempotency_let_go = True


def kept_instead(answer: Response) -> None:
    """Keep another answer for the key of this request than the one it gets, which holds a secret."""
    g.idempotency_instead = answer


def kept_together(answer: Callable[[KeptProcedure], Response]) -> Answers:
    """What lets the store keep the answer to the key of this request, if it has one, with its procedure."""

    def answers(kept: Sequence[KeptProcedure]) -> Sequence[Done]:
        begun: Begun | None = g.get("idempotency_begun")
        g.idempotency_kept = begun is not None
        return [(begun, as_kept(answer(each))) for each in kept] if begun else []

    return answers


def _begin() -> Response | None:
    view = current_app.view_functions.get(request.endpoint or "")
    sent = request.headers.get(HEADER)
    if sent is None or request.method != "POST" or not getattr(view, REPEATABLE, False):
        return None
    key = key_in_header(sent)
    if request.args.get("dry_run") == "true":
        return None  # it creates nothing, and the key is still good for what does
    (outcome,) = store_in_use().idempotency.begin(current_shop(), [Asked(key, digest_of(request))])
    match outcome:
        case Begun():
            g.idempotency_begun = outcome
            return None
        case GivenAnswer():
            return replayed(outcome)
        case Taken():
            raise problem_of(outcome)


def _end(response: Response) -> Response:
    begun: Begun | None = g.pop("idempotency_begun", None)
    kept = g.pop("idempotency_kept", False)
    if begun is None or (kept and is_final(response)):
        return response
    keys, shop = store_in_use().idempotency, current_shop()
    try:
        if is_final(response) and not g.pop("idempotency_let_go", False):
            keys.finish(shop, [(begun, as_kept(g.pop("idempotency_instead", response)))])
        else:
            keys.free(shop, [begun])
    except StoreUnavailable as error:
        # The work is done and its answer is right; only a repetition will not find it.
        _log.warning("request %s: its answer is not kept for its key: %s", request_id(), error)
    return response
