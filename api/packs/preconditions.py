"""`If-Match`: what is in force is changed only by who has seen what is in force now."""

from __future__ import annotations

from datetime import UTC, datetime

from api.preconditions import changed_meanwhile, if_match, refuse_unseen
from api.problems import Problem
from storage.activations import Activations
from storage.shops import LOCAL

READING = "GET /v1/packs/active"
IF_MATCH = if_match(READING)


def etag_of(activations: Activations, shop: str) -> tuple[str, int]:
    """The entity tag of what is in force for a shop and decided, and the number of its last decision."""
    tag, number = _state(activations, shop)
    if shop != LOCAL:
        tag += f"-of-{_state(activations, LOCAL)[0]}"
    return f"activation-{tag}", number


def expected_number(activations: Activations, shop: str) -> int:
    """The number of the shop's decision that this request builds on. Raises Problem."""
    etag, number = etag_of(activations, shop)
    refuse_unseen(etag, READING)
    return number


def failed() -> Problem:
    """Somebody else has decided meanwhile."""
    return changed_meanwhile(READING)


def _state(activations: Activations, shop: str) -> tuple[str, int]:
    last, holds = activations.last(shop), activations.decided(shop, datetime.now(UTC))
    number = 0 if last is None else last.number
    return f"{number}-{0 if holds is None else holds.number}", number
