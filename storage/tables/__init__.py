"""The tables, a room for each subject. `storage.migrations` brings a database to this shape."""

from storage.tables.actuals import actuals, estimates
from storage.tables.audit import audit
from storage.tables.common import metadata
from storage.tables.events import outbox
from storage.tables.idempotency import idempotency
from storage.tables.packs import activations, packs, proofs
from storage.tables.procedures import latest_procedures, line_items, procedures, stated_facts
from storage.tables.shops import api_keys, shops

__all__ = [
    "activations",
    "actuals",
    "api_keys",
    "audit",
    "estimates",
    "idempotency",
    "latest_procedures",
    "line_items",
    "metadata",
    "outbox",
    "packs",
    "procedures",
    "proofs",
    "shops",
    "stated_facts",
]
