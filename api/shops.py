"""Which shop asks."""

from __future__ import annotations

from api.keys.checking import caller
from storage.shops import LOCAL

__all__ = ["LOCAL", "current_shop"]


def current_shop() -> str:
    """The id of the shop that this request is made for: that of the key; `local` in an open service."""
    return caller().shop
