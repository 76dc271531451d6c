"""What a client does with webhooks: it acts on what the service has signed, and on everything once."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

from api.conformance.kit import Kit
from api.conformance.model import Check
from api.events.payloads import examples
from api.events.signing import signed_headers
from storage.webhook_records import ISSUED, SUPERSEDED
from storage.webhook_secrets import new_secret

TAKEN = Check(
    "webhook-taken",
    "a delivery that is signed rightly is answered 2xx, and acted on",
    "Otherwise the service sends it again for days, and nobody is told what it was about.",
    "Answer 204 as soon as it is verified and kept. Verify the bytes as they came, before any JSON reader.",
)
SIGNATURE_CHECKED = Check(
    "webhook-signature-checked",
    "a delivery with a wrong signature, with none, or with another body than was signed is refused",
    "The address of a webhook is no secret. Without the signature anybody may write into your program.",
    "Verify `webhook-signature` with the secret and a library of Standard Webhooks; answer 400 or 401 else.",
)
OLD_REFUSED = Check(
    "webhook-old-refused",
    "a delivery whose `webhook-timestamp` is more than five minutes off is refused",
    "Whoever has recorded a delivery could send it again whenever they like.",
    "Let the library check the time of the signature too, and keep the clock of your machine right.",
)
BOTH_SIGNATURES = Check(
    "webhook-two-signatures",
    "one right signature among several is enough, wherever it stands",
    "While a secret is changed, every delivery is signed with the old and with the new one.",
    "Compare each signature in `webhook-signature`; they are parted by spaces.",
)
ACTED_ON_ONCE = Check(
    "webhook-once",
    "a delivery that comes twice is acted on once, and answered 2xx both times",
    "An answer can be lost on its way; then the same delivery comes again, with the same `webhook-id`.",
    "Keep the `webhook-id` of what was acted on, in the same transaction, and answer 2xx where it is known.",
)
ANY_ORDER = Check(
    "webhook-any-order",
    "deliveries are taken in whatever order they come",
    "What failed is sent again later, so an older event may come after a younger one.",
    "Take every event; where order matters, read what is so now from the service.",
)
UNKNOWN_TAKEN = Check(
    "webhook-unknown-taken",
    "an event of a kind, or with members, that it does not know is answered 2xx",
    "Kinds of events are added. What is refused is sent again for days.",
    "Answer 2xx to whatever is signed rightly, and leave alone what you do not know.",
)

CHECKS = (TAKEN, SIGNATURE_CHECKED, OLD_REFUSED, BOTH_SIGNATURES, ACTED_ON_ONCE, ANY_ORDER, UNKNOWN_TAKEN)

_AT_MOST_S = 2.0
"""So long a client may take to act on what it has answered 2xx to."""

_OFF = timedelta(minutes=10)


class Inbox:
    """Delivers to the client, and looks what it has acted on."""

    def __init__(self, kit: Kit) -> None:
        self._kit = kit

    def deliver(self, event_id: str, payload: Any, *, sent: Any = None, **signing: Any) -> bool:
        """Whether it was answered 2xx. `sent` goes in place of the payload that was signed."""
        body = json.dumps({"timestamp": datetime.now(UTC).isoformat(), **payload}, indent=1)
        headers = self.headers(event_id, body, **signing)
        return self.post(headers, body if sent is None else json.dumps(sent, indent=1))

    def post(self, headers: dict[str, str], body: str) -> bool:
        """Whether it was answered 2xx."""
        return (self._kit.driver.deliver(headers, body) or 0) // 100 == 2

    def headers(
        self,
        event_id: str,
        body: str,
        secrets: Sequence[str] | None = None,
        off: timedelta = timedelta(0),
    ) -> dict[str, str]:
        """Signed with the secret of the client, or with others, at a time that is so much off."""
        return signed_headers(secrets or [self._kit.webhook_secret], event_id, body, datetime.now(UTC) + off)

    def acted_on(self, *event_ids: str) -> list[str]:
        """Those that it has acted on, as often as it did, once all are there or time is up."""
        until_s = time.monotonic() + _AT_MOST_S
        while True:
            handled = [each for each in self._kit.driver.handled() if each in event_ids]
            if set(handled) == set(event_ids) or time.monotonic() > until_s:
                return handled
            time.sleep(0.1)


def play_inbox(kit: Kit) -> None:
    """All of them. Where nothing is taken at all, the others would say nothing."""
    inbox, (issued, superseded) = Inbox(kit), (_just_now(kind) for kind in (ISSUED, SUPERSEDED))
    first = _new_id()
    answered, acted = inbox.deliver(first, issued), inbox.acted_on(first)
    taken = answered and acted == [first]
    told = f"answered {'2xx' if answered else 'otherwise'}, acted on {len(acted)} times"
    kit.judge.hold(TAKEN, taken, told)
    if not taken:
        return
    _send_twice(kit, inbox, issued)
    _turn_round(kit, inbox, issued, superseded)
    _rotate(kit, inbox, issued)
    _surprise(kit, inbox, issued)
    _forge(kit, inbox, issued)
    _come_late(kit, inbox, issued)


def _just_now(kind: str) -> dict[str, Any]:
    """An invented event, of the moment at which it is delivered."""
    return {member: value for member, value in examples()[kind].items() if member != "timestamp"}


def _new_id() -> str:
    return f"ev_{uuid4().hex}"


def _send_twice(kit: Kit, inbox: Inbox, issued: Any) -> None:
    event_id = _new_id()
    answered = [inbox.deliver(event_id, issued), inbox.deliver(event_id, issued, off=timedelta(seconds=1))]
    acted = inbox.acted_on(event_id)
    told = f"{answered.count(True)} of 2 were answered 2xx, and it was acted on {len(acted)} times"
    kit.judge.hold(ACTED_ON_ONCE, all(answered) and len(acted) == 1, told)


def _turn_round(kit: Kit, inbox: Inbox, issued: Any, superseded: Any) -> None:
    now = datetime.now(UTC)
    younger, older = _new_id(), _new_id()
    answered = [
        inbox.deliver(younger, {**superseded, "timestamp": now.isoformat()}),
        inbox.deliver(older, {**issued, "timestamp": (now - timedelta(hours=1)).isoformat()}),
    ]
    acted = inbox.acted_on(younger, older)
    told = f"the older one came last; of both {len(acted)} were acted on"
    kit.judge.hold(ANY_ORDER, all(answered) and set(acted) == {younger, older}, told)


def _rotate(kit: Kit, inbox: Inbox, issued: Any) -> None:
    other, own = new_secret(), kit.webhook_secret
    for secrets, place in (([other, own], "second"), ([own, other], "first")):
        event_id = _new_id()
        answered = inbox.deliver(event_id, issued, secrets=secrets)
        right = answered and inbox.acted_on(event_id) == [event_id]
        told = f"it was not taken where the {place} of two signatures was right"
        kit.judge.hold(BOTH_SIGNATURES, right, told)


def _surprise(kit: Kit, inbox: Inbox, issued: Any) -> None:
    more = {**issued, "region": "north", "data": {**issued["data"], "weight_g": 1}}
    for payload in (more, {**issued, "type": "procedure.admired"}):
        answered = inbox.deliver(_new_id(), payload)
        kit.judge.hold(UNKNOWN_TAKEN, answered, f"an event '{payload['type']}' was not answered 2xx")


def _forge(kit: Kit, inbox: Inbox, issued: Any) -> None:
    wrong, changed, bare = _new_id(), _new_id(), _new_id()
    forged = {**issued, "data": {**issued["data"], "procedure_id": "pr-forged"}}
    unsigned = {"webhook-id": bare, "webhook-timestamp": str(int(datetime.now(UTC).timestamp()))}
    answered = {
        "a wrong signature": inbox.deliver(wrong, issued, secrets=[new_secret()]),
        "another body than was signed": inbox.deliver(changed, issued, sent=forged),
        "no signature": inbox.post(unsigned, json.dumps(issued)),
    }
    acted = [each for each in kit.driver.handled() if each in (wrong, changed, bare)]
    taken = [what for what, yes in answered.items() if yes]
    told = f"answered 2xx: {', '.join(taken) or 'none'}; {len(acted)} of 3 were acted on"
    kit.judge.hold(SIGNATURE_CHECKED, not taken and not acted, told)


def _come_late(kit: Kit, inbox: Inbox, issued: Any) -> None:
    for off, when in ((-_OFF, "old"), (_OFF, "early")):
        event_id = _new_id()
        answered = inbox.deliver(event_id, issued, off=off)
        acted = event_id in kit.driver.handled()
        told = f"a delivery ten minutes {when} was {'taken' if answered else 'refused'}"
        kit.judge.hold(OLD_REFUSED, not answered and not acted, f"{told}{' and acted on' if acted else ''}")
