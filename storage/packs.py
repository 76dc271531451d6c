"""Kept rule packs and their proofs. A pack never changes: its digest names its every byte."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, and_, or_, select

from rules.pack import Pack
from storage import audit
from storage.audit import Who
from storage.database import guarded, inserting, writing
from storage.faults import PackNotProven
from storage.records import KeptPack, KeptProof, Page, Position, json_text
from storage.tables import packs, proofs

Findings = Sequence[Mapping[str, Any]]


class Packs:
    """The packs of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def keep(self, pack: Pack, findings: Findings = (), origin: str = "start", by: Who | None = None) -> None:
        """Keep the files of a pack and what checks found, JSON-ready. Once is enough."""
        now = datetime.now(UTC)
        row = {
            "digest": pack.digest,
            "name": pack.name,
            "version": pack.version,
            "files": json_text({name: dict(files) for name, files in pack.files.items()}),
            "kept_at": now,
            "findings": json_text(list(findings)),
        }
        with writing(self._engine) as connection:
            kept = connection.execute(
                inserting(connection, packs).values(row).on_conflict_do_nothing().returning(packs.c.digest)
            )
            if kept.first() is not None:
                told = {"pack": pack.digest, "name": pack.name, "version": pack.version, "origin": origin}
                audit.append(connection, "pack.kept", told, now, by)

    def files(self, digest: str) -> Mapping[str, Mapping[str, str]] | None:
        """The texts of a kept pack by pack name and path, in the order they were laid; or None."""
        with guarded(self._engine), self._engine.connect() as connection:
            text = connection.scalar(select(packs.c.files).where(packs.c.digest == digest))
        return None if text is None else json.loads(text)

    def find(self, digest: str) -> KeptPack | None:
        """A kept pack without its files, or None."""
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(_LISTED.where(packs.c.digest == digest)).first()
        return None if row is None else _pack(row)

    def page(self, limit: int, after: str | None = None) -> Page[KeptPack]:
        """Kept packs, last kept first, at most `limit` from the cursor `after` on.

        Raises CursorRefused for a cursor that did not come from an earlier page.
        """
        query = _LISTED.order_by(packs.c.kept_at.desc(), packs.c.digest.desc()).limit(limit + 1)
        if after is not None:
            end = Position.from_cursor(after)
            same_moment = and_(packs.c.kept_at == end.moment, packs.c.digest < end.key)
            query = query.where(or_(packs.c.kept_at < end.moment, same_moment))
        with guarded(self._engine), self._engine.connect() as connection:
            rows = connection.execute(query).all()
        shown = rows[:limit]
        more = len(rows) > limit
        following = Position(shown[-1].kept_at, shown[-1].digest).as_cursor() if more else None
        return Page(tuple(_pack(row) for row in shown), following)

    def keep_proof(
        self, digest: str, passed: bool, document: Mapping[str, Any], by: Who | None = None
    ) -> KeptProof:
        """Keep what a proof found, in place of what an earlier one did."""
        proof = KeptProof(passed, document, datetime.now(UTC))
        row = {"passed": passed, "document": json_text(document), "proven_at": proof.proven_at}
        with writing(self._engine) as connection:
            connection.execute(
                inserting(connection, proofs)
                .values(pack_digest=digest, **row)
                .on_conflict_do_update(index_elements=proofs.primary_key, set_=row)
            )
            audit.append(connection, "pack.proven", {"pack": digest, "passed": passed}, proof.proven_at, by)
        return proof

    def refuse_unproven(self, digest: str) -> None:
        """Raises PackNotProven where the last proof of a pack did not pass, or there is none."""
        with guarded(self._engine), self._engine.connect() as connection:
            refuse_unproven(connection, digest)

    def proof(self, digest: str) -> KeptProof | None:
        """The last proof of a pack, or None."""
        with guarded(self._engine), self._engine.connect() as connection:
            row = connection.execute(select(proofs).where(proofs.c.pack_digest == digest)).first()
        return None if row is None else KeptProof(row.passed, json.loads(row.document), row.proven_at)


_LISTED = select(
    packs.c.digest, packs.c.name, packs.c.version, packs.c.kept_at, packs.c.findings, proofs.c.passed
).join_from(packs, proofs, isouter=True)


def refuse_unproven(connection: Connection, digest: str) -> None:
    """The same inside a transaction."""
    if not connection.scalar(select(proofs.c.passed).where(proofs.c.pack_digest == digest)):
        raise PackNotProven(f"the pack {digest} has no passed proof")


def _pack(row: Row[*tuple[Any, ...]]) -> KeptPack:
    return KeptPack(
        digest=row.digest,
        name=row.name,
        version=row.version,
        kept_at=row.kept_at,
        findings=json.loads(row.findings),
        proven=row.passed,
    )
