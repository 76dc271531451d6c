"""Signs what is sent, by the symmetric scheme of Standard Webhooks 1.0.0."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from standardwebhooks import Webhook as Signer


def signed_headers(secrets: Sequence[str], event_id: str, body: str, now: datetime) -> dict[str, str]:
    """The three headers of an attempt that is made `now`, with a signature for each secret."""
    signatures = [Signer(secret).sign(event_id, now, body) for secret in secrets]
    return {
        "webhook-id": event_id,
        "webhook-timestamp": str(int(now.timestamp())),
        "webhook-signature": " ".join(signatures),
    }
