"""Holds requests to the quota of the shop, and tells of it in every answer.

The headers are those of draft-ietf-httpapi-ratelimit-headers-11. Only requests with a caller count: those
that anybody may make, and those that are refused for want of a key, do not.
"""

from __future__ import annotations

from flask import Flask, Response, current_app, g, request

from api.keys.checking import caller
from api.limiting.quota import Quota
from api.problem_types import RATE_LIMITED
from api.problems import Problem
from api.settings import Settings

POLICY, STATE = "RateLimit-Policy", "RateLimit"

_NAME = '"default"'
_KEY = "stagewright-quota"


def hold_to_quota(app: Flask, settings: Settings) -> None:
    """Hold every shop to the quota of `settings`, where there is one; without keys, every address.

    Raises QuotaRefused.
    """
    if settings.rate_limit:
        app.extensions[_KEY] = Quota(settings.rate_limit, settings.rate_window_s, settings.rate_storage)
        app.before_request(_take_one)
        app.after_request(_tell)


def count_items(items: int) -> None:
    """Count a request, counted as one so far, as so many, but at most as a whole quota. Raises Problem."""
    quota: Quota | None = current_app.extensions.get(_KEY)
    if quota is not None and min(items, quota.requests) > 1:
        _take(min(items, quota.requests) - 1)


def hold_to_links() -> None:
    """Count a request that a signed link let in: the links of a shop have a quota like that of its keys.

    So whoever has a link uses up nothing that shop software needs. Raises Problem.
    """
    g.quota_name = f"links:{caller().shop}"
    _take(1)


def _take_one() -> None:
    if "caller" in g:
        _take(1)


def _take(cost: int) -> None:
    quota: Quota | None = current_app.extensions.get(_KEY)
    if quota is None or quota.take(_name(), cost) is not False:
        return
    left = quota.left(_name())
    told = f"a shop may make {quota.requests} requests in {quota.window_s} seconds"
    if left is not None and left.requests:
        told += f"; {left.requests} are left, and this one counts as {cost} more"
    headers = {"Retry-After": str(max(1, left.reset_s) if left else quota.window_s)}
    raise Problem(RATE_LIMITED, told, headers=headers)


def _tell(response: Response) -> Response:
    quota: Quota = current_app.extensions[_KEY]
    left = quota.left(_name()) if "caller" in g else None
    if left is not None:
        response.headers[POLICY] = f"{_NAME};q={quota.requests};w={quota.window_s}"
        response.headers[STATE] = f"{_NAME};r={left.requests};t={left.reset_s}"
    return response


def _name() -> str:
    """Who has a quota: a shop, however many keys it has, or its links; in an open service an address."""
    if "quota_name" in g:
        named: str = g.quota_name
        return named
    who = caller()
    return f"shop:{who.shop}" if who.key is not None else f"address:{request.remote_addr}"
