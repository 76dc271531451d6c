"""Before every request: who asks, and whether they may.

A key is looked up anew for every request, so that one that was revoked is refused from then on.
"""

from __future__ import annotations

import logging
import re
from datetime import UTC, datetime
from functools import partial

from flask import Flask, current_app, g, request

from api.keys.loopback import refuse_strangers
from api.keys.scopes import OPEN, scope_of
from api.limiting.failures import refuse_many_failures
from api.problem_types import KEY_REFUSED, SCOPE_MISSING
from api.problems import Problem
from api.request_ids import request_id
from api.snapshot import store_in_use
from storage.audit import Who
from storage.faults import StoreUnavailable
from storage.key_records import Key, WrittenKey
from storage.keys import Keys
from storage.shops import LOCAL

_BEARER = re.compile(r"bearer +([!-~]+)", re.IGNORECASE | re.ASCII)
_log = logging.getLogger("stagewright")


def check_callers(app: Flask, without_keys: bool) -> None:
    """Let no view of `app` be reached by who may not; `without_keys`: this machine may reach them all."""
    if without_keys:
        app.before_request(refuse_strangers)
    app.before_request(partial(_let_in, without_keys))


def caller() -> Who:
    """Who this request is made for. Raises LookupError in a view that is open to all."""
    if "caller" not in g:
        raise LookupError("nobody was asked for a key here, so it is not known whose request this is")
    found: Who = g.caller
    return found


def _let_in(without_keys: bool) -> None:
    if request.endpoint is None:
        return  # there is nothing at this address
    scope = scope_of(current_app, request.endpoint)
    if scope != OPEN:
        g.caller = Who(LOCAL, None) if without_keys else _with_key(scope)


def _with_key(scope: str) -> Who:
    keys, now = store_in_use().keys, datetime.now(UTC)
    key = _key(keys, now)
    if key is None:
        refuse_many_failures()
        raise _refused()
    if scope not in key.scopes:
        challenge = f'Bearer realm="stagewright", error="insufficient_scope", scope="{scope}"'
        told = f"this call needs a key with the scope '{scope}'; the key that was sent does not have it"
        raise Problem(SCOPE_MISSING, told, headers={"WWW-Authenticate": challenge})
    _note_use(keys, key, now)
    return Who(key.shop, key.prefix)


def _key(keys: Keys, now: datetime) -> Key | None:
    """None whatever is wrong with the key; only the log tells which one it was."""
    sent = request.headers.get("Authorization")
    if sent is None:
        return None
    bearer = _BEARER.fullmatch(sent)
    written = WrittenKey.read(bearer[1]) if bearer else None
    found = keys.find(written, now) if written else None
    if found is None:
        _log.warning("request %s: the key %s was refused", request_id(), written and written.prefix)
    return found


def _refused() -> Problem:
    told = "send a key that holds, as 'Authorization: Bearer …'"
    return Problem(KEY_REFUSED, told, headers={"WWW-Authenticate": 'Bearer realm="stagewright"'})


def _note_use(keys: Keys, key: Key, now: datetime) -> None:
    try:
        keys.note_use(key, now)
    except StoreUnavailable as error:
        _log.warning("request %s: that the key %s is in use is not kept: %s", request_id(), key.prefix, error)
