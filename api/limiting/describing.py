"""The quota in the OpenAPI document."""

from __future__ import annotations

from typing import Any

from api.idempotency.describing import also_refuses
from api.limiting.holding import POLICY, STATE
from api.problem_types import KEYS_REFUSED, RATE_LIMITED

Json = dict[str, Any]


def tell_of_quota(described: Json) -> None:
    """Write into an operation that asks for a key what happens where too much is asked for."""
    if "security" in described:
        also_refuses(described["responses"], RATE_LIMITED, _HEADERS)
        also_refuses(described["responses"], KEYS_REFUSED)


def _header(says: str, **schema: str) -> Json:
    return {"description": says, "schema": {"type": "string", **schema}}


_HEADERS = {
    "Retry-After": _header("So many seconds to wait.", pattern="^[0-9]+$"),
    POLICY: _header('The quota, where there is one: `q` requests in `w` seconds, as `"default";q=600;w=60`.'),
    STATE: _header('What is left: `r` requests, whole again in `t` seconds, as `"default";r=599;t=60`.'),
}
