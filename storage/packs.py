"""Kept rule packs and their proofs. A pack never changes: its digest names its every byte.

A shop sees its own packs and those that the service, the shop `local`, has decided for: procedures cite them.
Of all others it sees as little as of packs that never were.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Engine, Row, and_, delete, exists, func, or_, select

from rules.pack import Pack
from storage import audit
from storage.audit import Who
from storage.database import guarded, inserting, writing
from storage.faults import PackInUse, PackNotKept, PackNotProven, TooManyPacks
from storage.paging import beyond, page_of
from storage.records import KeptPack, KeptProof, Page, Position, json_text
from storage.removing.packs import remove_unkept
from storage.shops import LOCAL
from storage.tables import activations, kept_packs, packs, proofs

Findings = Sequence[Mapping[str, Any]]


class Packs:
    """The packs of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def keep(
        self,
        shop: str,
        pack: Pack,
        findings: Findings = (),
        origin: str = "start",
        by: Who | None = None,
        laid_on: str | None = None,
        most: int | None = None,
    ) -> None:
        """Keep the files of a pack for a shop, and what checks found, JSON-ready. Once is enough.

        `laid_on` is the pack of the service that it is an overlay on. Raises TooManyPacks where the shop
        keeps `most` others already.
        """
        now = datetime.now(UTC)
        files = json_text({name: dict(texts) for name, texts in pack.files.items()})
        text = {"digest": pack.digest, "name": pack.name, "version": pack.version, "files": files}
        row = {
            "shop": shop,
            "pack_digest": pack.digest,
            "kept_at": now,
            "findings": json_text(list(findings)),
            "laid_on": laid_on,
        }
        with writing(self._engine) as connection:
            if connection.scalar(select(kept_packs.c.kept_at).where(_is_kept(shop, pack.digest))):
                return
            if most is not None and _count(connection, shop) >= most:
                raise TooManyPacks(f"the shop '{shop}' keeps {most} packs, and no more")
            keeping = inserting(connection, packs).values(kept_at=now, **text)
            again = keeping.on_conflict_do_update(index_elements=["digest"], set_={"files": files})
            connection.execute(again)
            connection.execute(inserting(connection, kept_packs).values(row))
            told = {"shop": shop, "pack": pack.digest, "name": pack.name, "version": pack.version}
            audit.append(connection, "pack.kept", {**told, "origin": origin}, now, by)

    def forget(self, shop: str, digest: str, by: Who | None = None) -> None:
        """Keep a pack, and its proof, no longer for a shop; does nothing where it does not.

        Raises PackInUse where the shop has ever decided for it.
        """
        with writing(self._engine) as connection:
            if not connection.scalar(select(kept_packs.c.kept_at).where(_is_kept(shop, digest))):
                return
            decided = and_(activations.c.shop == shop, activations.c.pack_digest == digest)
            if connection.scalar(select(activations.c.key).where(decided).limit(1)):
                raise PackInUse(f"the shop '{shop}' has decided for the pack {digest}")
            connection.execute(delete(proofs).where(proofs.c.shop == shop, proofs.c.pack_digest == digest))
            connection.execute(delete(kept_packs).where(_is_kept(shop, digest)))
            remove_unkept(connection, [digest])
            told = {"shop": shop, "pack": digest}
            audit.append(connection, "pack.forgotten", told, datetime.now(UTC), by)

    def files(self, digest: str) -> Mapping[str, Mapping[str, str]] | None:
        """The texts of a pack, whoever keeps it, by pack name and path, lowest pack first; or None."""
        with guarded(self._engine), self._engine.connect() as connection:
            text = connection.scalar(select(packs.c.files).where(packs.c.digest == digest))
        return json.loads(text) if text else None

    def find(self, shop: str, digest: str) -> KeptPack | None:
        """A pack that a shop sees, without its files, or None."""
        query = _LISTED.where(kept_packs.c.pack_digest == digest, _seen_by(shop))
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(query).first()
        return None if row is None else _pack(row)

    def page(self, shop: str, limit: int, after: str | None = None) -> Page[KeptPack]:
        """Packs that a shop sees, last kept first, at most `limit` from the cursor `after` on.

        Raises CursorRefused for a cursor that did not come from an earlier page.
        """
        kept_at, digest = kept_packs.c.kept_at, kept_packs.c.pack_digest
        query = _LISTED.where(_seen_by(shop)).order_by(kept_at.desc(), digest.desc()).limit(limit + 1)
        if after is not None:
            query = query.where(beyond(after, kept_at, digest))
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(query).all()
        return page_of(rows, limit, _pack, lambda row: Position(row.kept_at, row.digest))

    def keep_proof(
        self, shop: str, digest: str, passed: bool, document: Mapping[str, Any], by: Who | None = None
    ) -> KeptProof:
        """Keep what a proof of a shop's own pack found, in place of what an earlier one did.

        Raises PackNotKept.
        """
        proof = KeptProof(passed, document, datetime.now(UTC))
        row = {"passed": passed, "document": json_text(document), "proven_at": proof.proven_at}
        with writing(self._engine) as connection:
            if not connection.scalar(select(kept_packs.c.kept_at).where(_is_kept(shop, digest))):
                raise PackNotKept(f"the shop '{shop}' keeps no pack {digest}")
            connection.execute(
                inserting(connection, proofs)
                .values(shop=shop, pack_digest=digest, **row)
                .on_conflict_do_update(index_elements=proofs.primary_key, set_=row)
            )
            told = {"shop": shop, "pack": digest, "passed": passed}
            audit.append(connection, "pack.proven", told, proof.proven_at, by)
        return proof

    def refuse_unproven(self, shop: str, digest: str) -> None:
        """Raises PackNotProven where the last proof of a shop's own pack did not pass, or there is none."""
        with guarded(self._engine), self._engine.connect() as connection:
            refuse_unproven(connection, shop, digest)

    def proof(self, shop: str, digest: str) -> KeptProof | None:
        """The last proof of a pack that a shop sees, or None."""
        query = (
            select(proofs)
            .join_from(kept_packs, proofs, _ITS_PROOF)
            .where(kept_packs.c.pack_digest == digest, _seen_by(shop))
        )
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(query).first()
        return None if row is None else KeptProof(row.passed, json.loads(row.document), row.proven_at)


_ITS_PROOF = and_(proofs.c.shop == kept_packs.c.shop, proofs.c.pack_digest == kept_packs.c.pack_digest)
_LISTED = (
    select(kept_packs, packs.c.digest, packs.c.name, packs.c.version, proofs.c.passed)
    .join_from(kept_packs, packs, packs.c.digest == kept_packs.c.pack_digest)
    .join(proofs, _ITS_PROOF, isouter=True)
)


def refuse_unproven(connection: Connection, shop: str, digest: str) -> None:
    """The same inside a transaction."""
    own = and_(proofs.c.shop == shop, proofs.c.pack_digest == digest)
    if not connection.scalar(select(proofs.c.passed).where(own)):
        raise PackNotProven(f"the pack {digest} has no passed proof")


def _seen_by(shop: str) -> ColumnElement[bool]:
    """Its own, and those of the service that it does not keep itself."""
    of_service = select(activations.c.pack_digest).where(activations.c.shop == LOCAL)
    own = kept_packs.alias()
    is_own = exists().where(own.c.shop == shop, own.c.pack_digest == kept_packs.c.pack_digest)
    followed = and_(kept_packs.c.shop == LOCAL, kept_packs.c.pack_digest.in_(of_service), ~is_own)
    return or_(kept_packs.c.shop == shop, followed)


def _is_kept(shop: str, digest: str) -> ColumnElement[bool]:
    return and_(kept_packs.c.shop == shop, kept_packs.c.pack_digest == digest)


def _count(connection: Connection, shop: str) -> int:
    return connection.scalar(select(func.count()).where(kept_packs.c.shop == shop)) or 0


def _pack(row: Row[*tuple[Any, ...]]) -> KeptPack:
    return KeptPack(
        shop=row.shop,
        digest=row.digest,
        name=row.name,
        version=row.version,
        kept_at=row.kept_at,
        findings=json.loads(row.findings),
        proven=row.passed,
        laid_on=row.laid_on,
    )
