"""Clients with one fault each, made from the client of docs/conformance: by the check that has to find it."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from uuid import uuid4

import requests
from driver import Driver
from shop_client import Document, GaveUp, Inbox, Refused, ShopClient

from schemas.procedure.answer import ProcedureAnswer

MEMBERS = frozenset(ProcedureAnswer().fields)


@dataclass(frozen=True)
class Client:
    """What a driver makes of its settings, and what it says that it claims."""

    make: Callable[..., ShopClient] = ShopClient
    receive: Callable[[str], Inbox] = Inbox
    claims: Mapping[str, Any] = field(default_factory=dict)

    def driver(self) -> Driver:
        """A driver of such a client."""
        return Claiming(self)


class Claiming(Driver):
    def __init__(self, client: Client) -> None:
        super().__init__(client.make, client.receive)
        self.claims = client.claims

    def configure(self, asked: Document) -> Document:
        return {**super().configure(asked), **self.claims}


class GivesUpLostAnswers(ShopClient):
    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.session = Breaking()


class Breaking(requests.Session):
    """Once a connection breaks off, nothing more is tried."""

    def request(self, *args: Any, **options: Any) -> requests.Response:  # type: ignore[override]
        try:
            return super().request(*args, **options)
        except requests.ConnectionError as error:
            raise GaveUp("the connection broke off") from error


class NewKeyForEveryTry(ShopClient):
    def send_once(self, method: str, address: str, body: Any, headers: Any, query: Any) -> Any:
        fresh = {"Idempotency-Key": f'"{uuid4()}"'} if method == "POST" else {}
        return super().send_once(method, address, body, {**headers, **fresh}, query)


class OneKeyForEverything(ShopClient):
    def headers_for(self, method: str) -> dict[str, str]:
        headers = super().headers_for(method)
        return headers | ({"Idempotency-Key": '"shop-software"'} if method == "POST" else {})


class ReadsWithoutKey(ShopClient):
    def headers_for(self, method: str) -> dict[str, str]:
        headers = super().headers_for(method)
        return headers if method == "POST" else {"Accept": headers["Accept"]}


class FollowsAnywhere(ShopClient):
    def may_follow(self, url: str, answer: requests.Response) -> bool:
        return True


class FollowsByGet(ShopClient):
    def send_once(self, method: str, address: str, body: Any, headers: Any, query: Any) -> Any:
        answer = super().send_once(method, address, body, headers, query)
        redirected = answer is not None and answer.url.endswith("/elsewhere/v1/procedures")
        return super().send_once("GET", answer.url, None, headers, query) if redirected else answer


class RepeatsRefusals(ShopClient):
    def accepted(self, answer: requests.Response) -> requests.Response:
        while answer.status_code == 422:
            time.sleep(0.02)
            answer = self.session.send(answer.request, timeout=self.timeout_s)
        return super().accepted(answer)


class GivesUpAt(ShopClient):
    """Takes one status for the end."""

    status = 0

    def is_to_send_again(self, answer: requests.Response) -> bool:
        return answer.status_code != self.status and super().is_to_send_again(answer)


class GivesUpAtQuota(GivesUpAt):
    status = 429


class GivesUpAtRunning(GivesUpAt):
    status = 409


class GivesUpAtOutage(GivesUpAt):
    status = 503


class WaitsAsItLikes(ShopClient):
    def wait_s(self, answer: requests.Response | None, tried: int) -> float:
        return super().wait_s(None, tried)


class DoesNotWait(ShopClient):
    def wait_s(self, answer: requests.Response | None, tried: int) -> float:
        told = answer is not None and "Retry-After" in answer.headers
        return super().wait_s(answer, tried) if told else 0.0


class WaitsInStep(ShopClient):
    def wait_s(self, answer: requests.Response | None, tried: int) -> float:
        told = answer is not None and "Retry-After" in answer.headers
        return super().wait_s(answer, tried) if told else float(self.first_wait_s * 2 ** (tried - 1))


class TriesForEver(ShopClient):
    def __init__(self, **settings: Any) -> None:
        super().__init__(**{**settings, "most_tries": 1_000_000})


class WaitsForEver(ShopClient):
    def __init__(self, **settings: Any) -> None:
        super().__init__(**{**settings, "timeout_s": None})


class RefusesNewMembers(ShopClient):
    def read_json(self, answer: requests.Response) -> Document:
        document = super().read_json(answer)
        if "disposition" in document and not document.keys() <= MEMBERS:
            raise KeyError("the answer has members that are not known")
        return document


class LosesErrors(ShopClient):
    def accepted(self, answer: requests.Response) -> requests.Response:
        try:
            return super().accepted(answer)
        except Refused as refused:
            refused.problem.pop("errors", None)
            raise


class KnowsAllProblems(ShopClient):
    def accepted(self, answer: requests.Response) -> requests.Response:
        try:
            return super().accepted(answer)
        except Refused as refused:
            if refused.problem.get("type") == "/problems/of-a-later-version":
                raise KeyError(refused.problem["type"]) from refused
            raise


class ReckonsInFloats(ShopClient):
    def amount_of(self, procedure: Document) -> Decimal | None:
        amount = super().amount_of(procedure)
        return None if amount is None else Decimal(str(float(amount)))


class ReadsOnePage(ShopClient):
    def find(self, reference: str) -> list[Document]:
        answer = self.send("GET", "/v1/procedures", query={"line_item": reference})
        items: list[Document] = self.read_json(answer)["items"]
        return items


class TrustsWhatItKept(ShopClient):
    def read(self, procedure_id: str) -> Document:
        return self.kept[procedure_id][1] if procedure_id in self.kept else super().read(procedure_id)


class WritesTheBodyAnew(Inbox):
    def is_signed(self, headers: Mapping[str, str], body: bytes) -> bool:
        return super().is_signed(headers, json.dumps(json.loads(body)).encode())


class BelievesEverybody(Inbox):
    def is_signed(self, headers: Mapping[str, str], body: bytes) -> bool:
        return abs(time.time() - float(headers["webhook-timestamp"])) < 300


class TakesOldOnes(Inbox):
    def is_signed(self, headers: Mapping[str, str], body: bytes) -> bool:
        content = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
        secret = base64.b64decode(self.secret.removeprefix("whsec_"))
        right = base64.b64encode(hmac.new(secret, content, hashlib.sha256).digest()).decode()
        return f"v1,{right}" in headers.get("webhook-signature", "").split(" ")


class ReadsOneSignature(Inbox):
    def is_signed(self, headers: Mapping[str, str], body: bytes) -> bool:
        first = headers.get("webhook-signature", "").split(" ")[0]
        return super().is_signed({**headers, "webhook-signature": first}, body)


class ActsTwice(Inbox):
    def is_new(self, event_id: str) -> bool:
        return True


class LeavesOutOlder(Inbox):
    last = ""

    def act_on(self, event_id: str, event: Document) -> None:
        if event["timestamp"] > self.last:
            self.last = event["timestamp"]
            super().act_on(event_id, event)


class RefusesNewEvents(Inbox):
    def take(self, headers: Mapping[str, str], body: bytes) -> int:
        known = ("procedure.issued", "procedure.superseded", "actuals.reported", "webhook.test")
        return super().take(headers, body) if json.loads(body)["type"] in known else 400


FAULTY = {
    "lost-answer-sent-again": Client(GivesUpLostAnswers),
    "key-kept": Client(NewKeyForEveryTry),
    "key-new": Client(OneKeyForEverything),
    "credentials-sent": Client(ReadsWithoutKey),
    "credentials-kept": Client(FollowsAnywhere),
    "redirect-followed": Client(FollowsByGet),
    "refusal-final": Client(RepeatsRefusals),
    "quota-waited-out": Client(GivesUpAtQuota),
    "running-waited-out": Client(GivesUpAtRunning),
    "outage-waited-out": Client(GivesUpAtOutage),
    "retry-after-kept": Client(WaitsAsItLikes),
    "waits-between": Client(DoesNotWait),
    "waits-scattered": Client(WaitsInStep),
    "tries-end": Client(TriesForEver),
    "timeout-set": Client(WaitsForEver),
    "unknown-members-borne": Client(RefusesNewMembers),
    "problem-read": Client(LosesErrors),
    "unknown-problem-borne": Client(KnowsAllProblems),
    "decimals-kept": Client(ReckonsInFloats),
    "pages-followed": Client(ReadsOnePage),
    "revalidates": Client(TrustsWhatItKept),
    "webhook-taken": Client(receive=WritesTheBodyAnew),
    "webhook-signature-checked": Client(receive=BelievesEverybody),
    "webhook-old-refused": Client(receive=TakesOldOnes),
    "webhook-two-signatures": Client(receive=ReadsOneSignature),
    "webhook-once": Client(receive=ActsTwice),
    "webhook-any-order": Client(receive=LeavesOutOlder),
    "webhook-unknown-taken": Client(receive=RefusesNewEvents),
}
"""By the check that finds it, and no other does."""
