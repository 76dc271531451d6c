"""Proofs, activations, audit and outbox; and what every line item states, so that they can be grouped."""

import json

import sqlalchemy as sa
from alembic import op

from storage.records import StatedFacts, json_text

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.add_column("packs", sa.Column("findings", sa.Text, nullable=False, server_default="[]"))
    _create_index_of_line_items()
    _fill_index_of_line_items()
    _create_versions()
    op.create_table(
        "audit",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("entry", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )


def _create_index_of_line_items() -> None:
    op.create_table(
        "stated_facts",
        sa.Column("key", sa.String(64), primary_key=True),
        sa.Column("material", sa.Text, nullable=False),
        sa.Column("facts", sa.Text, nullable=False),
    )
    op.create_table(
        "latest_procedures",
        sa.Column("reference", sa.Text, primary_key=True),
        sa.Column("procedure_id", sa.String(80), sa.ForeignKey("procedures.id"), nullable=False),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), nullable=False),
        sa.Column("stated_key", sa.String(64), sa.ForeignKey("stated_facts.key"), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index(
        "latest_procedures_by_facts", "latest_procedures", ["pack_digest", "stated_key", "reference"]
    )


def _create_versions() -> None:
    op.create_table(
        "proofs",
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), primary_key=True),
        sa.Column("passed", sa.Boolean, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("proven_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "activations",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("pack_digest", sa.String(80), sa.ForeignKey("packs.digest"), nullable=False),
        sa.Column("effective_from", sa.DateTime(timezone=True), nullable=False),
        sa.Column("activated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
    )
    op.create_table(
        "outbox",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("event", sa.Text, nullable=False),
        sa.Column("reference", sa.Text, nullable=False),
        sa.Column("procedure_id", sa.String(80), sa.ForeignKey("procedures.id"), nullable=False),
        sa.Column("activation", sa.Integer, sa.ForeignKey("activations.number"), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("delivered_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("event", "procedure_id", "activation", name="outbox_once"),
    )


_ISSUED = """
    SELECT l.reference, l.procedure_id, l.issued_at, p.pack_digest, p.document, p.facts
    FROM line_items l JOIN procedures p ON p.id = l.procedure_id
    ORDER BY l.issued_at, l.procedure_id
"""


def _fill_index_of_line_items() -> None:
    """From the documents issued so far. A fact that did not apply counts as stated at its value then."""
    connection = op.get_bind()
    latest: dict[str, dict[str, object]] = {}
    for row in connection.execute(sa.text(_ISSUED)):
        stated = _stated(json.loads(row.document), json.loads(row.facts))
        connection.execute(
            sa.text(
                "INSERT INTO stated_facts (key, material, facts) VALUES (:key, :material, :facts)"
                " ON CONFLICT DO NOTHING"
            ),
            {"key": stated.key, "material": stated.material, "facts": json_text(stated.facts)},
        )
        latest[row.reference] = {
            "reference": row.reference,
            "procedure_id": row.procedure_id,
            "pack_digest": row.pack_digest,
            "stated_key": stated.key,
            "issued_at": row.issued_at,
        }
    for values in latest.values():
        connection.execute(
            sa.text(
                "INSERT INTO latest_procedures (reference, procedure_id, pack_digest, stated_key, issued_at)"
                " VALUES (:reference, :procedure_id, :pack_digest, :stated_key, :issued_at)"
            ),
            values,
        )


def _stated(document: dict[str, object], facts: dict[str, object]) -> StatedFacts:
    part, assumptions = document["part"], document["assumptions"]
    assert isinstance(part, dict)
    assert isinstance(assumptions, list)
    assumed = {assumption["fact"] for assumption in assumptions}
    return StatedFacts(
        part["material"], {name: value for name, value in facts.items() if name not in assumed}
    )
