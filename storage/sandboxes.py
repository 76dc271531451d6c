"""The sandbox of a shop: a shop of its own, for trying out, so that all that keeps shops apart holds for it.

A shop has one at most, made with the first key for it. Its id is that of the shop and `~sandbox`; `~` is in
no id that a person chose.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, select

from storage import audit
from storage.database import inserting
from storage.faults import ShopRefused
from storage.tables import shops

SUFFIX = "~sandbox"
MADE = "sandbox.created"

KEEP_DAYS = 30
"""So long line items of a sandbox are kept, unless somebody says otherwise."""

_LONGEST_ID = 64


def sandbox_id(shop: str) -> str:
    """The id of the sandbox of a shop, whether it has one or not."""
    return f"{shop}{SUFFIX}"


def is_sandbox(shop: str) -> bool:
    """Whether an id is that of a sandbox."""
    return shop.endswith(SUFFIX)


def real_shop(shop: str) -> str:
    """The shop whose sandbox it is; itself where it is none."""
    return shop.removesuffix(SUFFIX)


def refuse_sandbox(shop: str) -> None:
    """Raises ShopRefused for a sandbox, where only its shop is to be named."""
    if is_sandbox(shop):
        raise ShopRefused(f"'{shop}' is a sandbox; name the shop '{real_shop(shop)}' and say `sandbox`")


def make_sandbox(connection: Connection, shop: str, origin: str, at: datetime) -> str:
    """The id of the sandbox of a shop, which there is from now on. Raises ShopRefused for a very long id.

    The transaction must be one of `storage.database.writing`.
    """
    sandbox = sandbox_id(shop)
    if len(sandbox) > _LONGEST_ID:
        raise ShopRefused(f"the id '{shop}' is too long for a sandbox; try out with another shop")
    name = connection.scalar(select(shops.c.name).where(shops.c.id == shop))
    row = {
        "id": sandbox,
        "name": f"{name}, for trying out",
        "created_at": at,
        "keep_days": KEEP_DAYS,
        "sandbox_of": shop,
    }
    made = connection.execute(
        inserting(connection, shops).values(row).on_conflict_do_nothing().returning(shops.c.id)
    )
    if made.first() is not None:
        audit.append(connection, MADE, {"shop": shop, "sandbox": sandbox, "origin": origin}, at)
    return sandbox
