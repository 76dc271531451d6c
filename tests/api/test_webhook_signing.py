"""Signatures: as the specification has them, and as its own library reads them."""

from __future__ import annotations

import hashlib
import hmac
import json
from base64 import b64decode, b64encode
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks import Webhook, WebhookVerificationError

from api.events.payloads import body_of, examples
from api.events.signing import signed_headers
from storage.webhook_records import ISSUED, REPORTED, SUPERSEDED, TEST, Event
from storage.webhook_secrets import new_secret

# The vector that the reference libraries of Standard Webhooks 1.0.0 are tested with; the example in the text
# of the specification is printed without its secret.
SECRET, EVENT_ID = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek"
AT, BODY = datetime.fromtimestamp(1614265330, UTC), '{"test": 2432232314}'
SIGNATURE = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def by_hand(secret: str, event_id: str, timestamp: str, body: bytes) -> str:
    """The scheme of the specification, "Verifying webhook authenticity", in its own words."""
    key = b64decode(secret.removeprefix("whsec_"))
    content = f"{event_id}.{timestamp}.".encode() + body
    return "v1," + b64encode(hmac.new(key, content, hashlib.sha256).digest()).decode()


def test_the_published_vector_is_signed_alike() -> None:
    assert by_hand(SECRET, EVENT_ID, "1614265330", BODY.encode()) == SIGNATURE
    assert signed_headers([SECRET], EVENT_ID, BODY, AT) == {
        "webhook-id": EVENT_ID,
        "webhook-timestamp": "1614265330",
        "webhook-signature": SIGNATURE,
    }


@given(
    st.text(max_size=200), st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))
)
def test_anything_is_signed_as_by_hand(body: str, at: datetime) -> None:
    body, secret = json.dumps(body), new_secret()
    headers = signed_headers([secret], "ev_1", body, at)
    signed = by_hand(secret, "ev_1", headers["webhook-timestamp"], body.encode())
    assert headers["webhook-signature"] == signed
    assert timedelta(0) <= at - datetime.fromtimestamp(int(headers["webhook-timestamp"]), UTC)


def test_whoever_has_one_of_the_secrets_can_verify_and_nobody_else() -> None:
    new, old, other = (new_secret() for _ in range(3))
    headers = signed_headers([new, old], "ev_1", BODY, datetime.now(UTC))
    assert headers["webhook-signature"].count("v1,") == 2
    for secret in (new, old):
        assert Webhook(secret).verify(BODY, headers) == {"test": 2432232314}
    for secret, body, changed in (
        (other, BODY, {}),
        (new, BODY + " ", {}),
        (new, BODY, {"webhook-id": "ev_2"}),
        (new, BODY, {"webhook-timestamp": str(int(headers["webhook-timestamp"]) + 1)}),
    ):
        with pytest.raises(WebhookVerificationError):
            Webhook(secret).verify(body, {**headers, **changed})


def test_the_first_signature_is_of_the_present_secret() -> None:
    new, old = new_secret(), new_secret()
    headers = signed_headers([new, old], "ev_1", BODY, AT)
    assert headers["webhook-signature"].split(" ") == [
        by_hand(secret, "ev_1", "1614265330", BODY.encode()) for secret in (new, old)
    ]


def test_payloads_are_small_plain_and_the_same_every_time() -> None:
    event = Event("ev_1", SUPERSEDED, datetime(2027, 3, 2, 8, 15, tzinfo=UTC), "RÖ “7”", "pr-1", "sha256:1")
    body = body_of(event, "wh_1")
    assert body == body_of(event, "wh_1")
    assert body.isascii()
    assert json.loads(body) == {
        "type": "procedure.superseded",
        "timestamp": "2027-03-02T08:15:00.000Z",
        "data": {
            "line_item": "RÖ “7”",
            "procedure_id": "pr-1",
            "pack_digest": "sha256:1",
            "links": {"procedure": "/v1/procedures/pr-1"},
        },
    }


def test_every_kind_of_event_has_an_example_with_what_it_is_about() -> None:
    shown = examples()
    assert shown.keys() == {ISSUED, SUPERSEDED, REPORTED, TEST}
    assert all(list(payload) == ["type", "timestamp", "data"] for payload in shown.values())
    assert all(len(json.dumps(payload)) < 20_000 for payload in shown.values())
    assert shown[ISSUED]["data"].keys() == {"line_item", "procedure_id", "links"}
    assert shown[SUPERSEDED]["data"].keys() == {"line_item", "procedure_id", "pack_digest", "links"}
    assert shown[REPORTED]["data"]["links"].keys() == {"procedure", "actuals"}
    assert shown[TEST]["data"].keys() == {"webhook_id"}
