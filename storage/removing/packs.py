"""Takes away the texts of packs that no shop keeps any more."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, exists, update

from storage.tables import kept_packs, packs


def remove_unkept(connection: Connection, digests: Sequence[str]) -> None:
    """Remove the texts of those of `digests` that nobody keeps.

    Their rows stay: to look for whatever else names them takes long. The transaction must be one of
    `storage.database.writing`, as that in which a pack is kept.
    """
    kept = exists().where(kept_packs.c.pack_digest == packs.c.digest)
    connection.execute(update(packs).where(packs.c.digest.in_(digests), ~kept).values(files=""))
