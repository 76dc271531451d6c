"""What is in force for a shop as JSON: by its own decision, or because it follows the service."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from api.packs.documents import Document, activation_of, named
from api.snapshot import store_in_use
from storage.records import Activation, KeptPack
from storage.shops import LOCAL


def in_force_document(shop: str, at: datetime) -> Document | None:
    """At a moment, as decided so far; None before any pack was in force."""
    activations = store_in_use().activations
    in_force = activations.in_force(shop, at)
    if in_force is None:
        return None
    before = _before(shop, at)
    return {
        **_given(shop, in_force, at),
        "as_of": None,
        "previous": before and _given(shop, before, at),
        "upcoming": [_given(shop, each, each.effective_from) for each in _upcoming(shop, at)],
        "laid_on": _laid_on(_pack(shop, in_force.digest), at) if in_force.shop == shop != LOCAL else None,
    }


def _before(shop: str, at: datetime) -> Activation | None:
    """What a rollback goes back to."""
    activations = store_in_use().activations
    own = activations.decided(shop, at)
    if own is None:
        return None
    before = activations.before(own)
    if before is None and not own.follows and shop != LOCAL:
        return activations.decided(LOCAL, at)
    return before


def _upcoming(shop: str, at: datetime) -> Iterable[Activation]:
    """Own decisions, and those of the service that come to hold while the shop follows it; first first."""
    activations = store_in_use().activations
    own = activations.upcoming(shop, at)
    if shop == LOCAL:
        return own
    followed = [
        each
        for each in activations.upcoming(LOCAL, at)
        if activations.in_force(shop, each.effective_from) == each
    ]
    return sorted([*own, *followed], key=lambda each: each.effective_from)


def _given(shop: str, activation: Activation, at: datetime) -> Document:
    """A decision, and the pack that it puts in force at a moment."""
    puts = store_in_use().activations.decided(LOCAL, at) if activation.follows else activation
    if puts is None:
        raise LookupError("the service has no pack in force")
    follows = shop != LOCAL and puts.shop == LOCAL
    return {**activation_of(activation, _pack(shop, puts.digest)), "follows_service": follows}


def _laid_on(pack: KeptPack, at: datetime) -> Document | None:
    service = store_in_use().activations.decided(LOCAL, at)
    if pack.laid_on is None or service is None:
        return None
    return {
        "pack": named(_pack(LOCAL, pack.laid_on)),
        "service": named(_pack(LOCAL, service.digest)),
        "behind": pack.laid_on != service.digest,
    }


def _pack(shop: str, digest: str) -> KeptPack:
    pack = store_in_use().packs.find(shop, digest)
    if pack is None:
        raise LookupError(f"the pack {digest} is not kept")
    return pack
