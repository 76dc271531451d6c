"""Bounds how often an address is told that it has no key that holds. A key that does hold is always served.

So whoever guesses, or goes on with a key that has ended, costs little, and locks nobody out: not the others
behind the same proxy, and not itself once it has a key.
"""

from __future__ import annotations

from ipaddress import ip_network

from flask import Flask, current_app, request

from api.limiting.quota import Quota
from api.problem_types import KEYS_REFUSED
from api.problems import Problem
from api.settings import Settings

WINDOW_S = 60
IPV6_PREFIX = 64
"""One caller may have all addresses of such a network."""

_KEY = "stagewright-key-failures"


def bound_failures(app: Flask, settings: Settings) -> None:
    """Bound them as `settings` say. Raises QuotaRefused."""
    if settings.key_failures:
        app.extensions[_KEY] = Quota(settings.key_failures, WINDOW_S, settings.rate_storage)


def refuse_many_failures() -> None:
    """Count one more of the address that asks. Raises Problem where there were too many."""
    quota: Quota | None = current_app.extensions.get(_KEY)
    if quota is None or quota.take(name := f"refused:{_network()}") is not False:
        return
    left = quota.left(name)
    told = f"{quota.requests} requests without a key that holds came from here within {WINDOW_S} seconds"
    wait_s = max(1, left.reset_s) if left else WINDOW_S
    raise Problem(KEYS_REFUSED, told, headers={"Retry-After": str(wait_s)})


def _network() -> str:
    """The address that asks; of IPv6 its network; what is none as it is."""
    address = request.remote_addr or ""
    try:
        return str(ip_network(f"{address}/{IPV6_PREFIX}", strict=False)) if ":" in address else address
    except ValueError:
        return address
