"""The tables, a room for each subject. `storage.migrations` brings a database to this shape."""

from storage.tables.actuals import actuals, estimates
from storage.tables.audit import audit
from storage.tables.common import metadata
from storage.tables.events import attempts, deliveries, outbox, webhooks
from storage.tables.idempotency import idempotency
from storage.tables.links import link_secrets
from storage.tables.packs import activations, kept_packs, packs, proofs
from storage.tables.procedures import latest_procedures, line_items, procedures, stated_facts
from storage.tables.shops import api_keys, shops

__all__ = [
    "activations",
    "actuals",
    "api_keys",
    "attempts",
    "audit",
    "deliveries",
    "estimates",
    "idempotency",
    "kept_packs",
    "latest_procedures",
    "line_items",
    "link_secrets",
    "metadata",
    "outbox",
    "packs",
    "procedures",
    "proofs",
    "shops",
    "stated_facts",
    "webhooks",
]
