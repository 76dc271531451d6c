"""A client of the service as shop software may have it: the whole of what docs/integrating.md asks of one.

Needs `requests` and `standardwebhooks`. Copy it, and change what your shop software does otherwise.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Mapping
from decimal import Decimal
from threading import Lock
from typing import Any
from urllib.parse import urljoin, urlsplit
from uuid import uuid4

import requests
from standardwebhooks import Webhook, WebhookVerificationError

Document = dict[str, Any]

TO_SEND_AGAIN = (409, 429, 500, 502, 503, 504)
REDIRECTS = (307, 308)


class Refused(Exception):
    """The service has refused it; `problem` is its problem document."""

    def __init__(self, status: int, problem: Document) -> None:
        super().__init__(problem.get("detail") or f"status {status}")
        self.status, self.problem = status, problem


class GaveUp(Exception):
    """No answer that says anything came, however often it was asked."""


class ShopClient:
    """Asks the service at an address, with the key of a shop."""

    def __init__(
        self, service: str, key: str, timeout_s: float = 30.0, first_wait_s: float = 1.0, most_tries: int = 5
    ) -> None:
        self.service, self.key = service, key
        self.timeout_s, self.first_wait_s, self.most_tries = timeout_s, first_wait_s, most_tries
        self.session = requests.Session()
        self.session.trust_env = False  # no proxy between the shop and its service
        self.kept: dict[str, tuple[str, Document]] = {}  # by procedure: its ETag, and what was read

    def close(self) -> None:
        self.session.close()

    def create(self, line_item: Document) -> Document:
        """The procedure for a line item. Raises Refused and GaveUp, as all the others do."""
        return self.read_json(self.send("POST", "/v1/procedures", line_item))

    def report(self, procedure_id: str, actuals: Document) -> Document:
        """Tell what stages took."""
        return self.read_json(self.send("POST", f"/v1/procedures/{procedure_id}/actuals", actuals))

    def read(self, procedure_id: str) -> Document:
        """A procedure; what was read before is used again where the service says that it still holds."""
        etag, known = self.kept.get(procedure_id, (None, {}))
        headers = {} if etag is None else {"If-None-Match": etag}
        answer = self.send("GET", f"/v1/procedures/{procedure_id}", headers=headers)
        if answer.status_code == 304:
            return known
        document = self.read_json(answer)
        self.kept[procedure_id] = answer.headers["ETag"], document
        return document

    def find(self, reference: str) -> list[Document]:
        """Every procedure of a line item, the last one first."""
        found: list[Document] = []
        address, query = "/v1/procedures", {"line_item": reference}
        while True:
            answer = self.send("GET", address, query=query)
            found += self.read_json(answer)["items"]
            if "next" not in answer.links:
                return found
            address, query = answer.links["next"]["url"], {}

    def send(
        self,
        method: str,
        address: str,
        body: Document | None = None,
        headers: Mapping[str, str] | None = None,
        query: Mapping[str, str] | None = None,
    ) -> requests.Response:
        """The answer to a request, which is sent as often as it needs and may be."""
        headers = self.headers_for(method) | dict(headers or {})
        for tried in range(1, self.most_tries + 1):
            answer = self.send_once(method, address, body, headers, query)
            if answer is not None and not self.is_to_send_again(answer):
                return self.accepted(answer)
            if tried < self.most_tries:
                time.sleep(self.wait_s(answer, tried))
        raise GaveUp(f"{method} {address}: no answer of use after {self.most_tries} tries")

    def headers_for(self, method: str) -> dict[str, str]:
        """Those of one request, the same however often it is sent."""
        headers = {"Authorization": f"Bearer {self.key}", "Accept": "application/json"}
        return headers | ({"Idempotency-Key": f'"{uuid4()}"'} if method == "POST" else {})

    def send_once(
        self,
        method: str,
        address: str,
        body: Document | None,
        headers: Mapping[str, str],
        query: Mapping[str, str] | None,
    ) -> requests.Response | None:
        """None where there is no answer, or none in time: then nobody knows what has become of it."""
        url = urljoin(self.service, address)
        try:
            answer = self.session.request(
                method,
                url,
                json=body,
                params=query,
                headers=headers,
                timeout=self.timeout_s,
                allow_redirects=False,
            )
            if answer.status_code in REDIRECTS and self.may_follow(url, answer):
                return self.send_once(method, urljoin(url, answer.headers["Location"]), body, headers, None)
        except requests.RequestException:
            return None
        return answer

    def may_follow(self, url: str, answer: requests.Response) -> bool:
        """The key of the shop goes to the service alone."""
        there = urlsplit(urljoin(url, answer.headers.get("Location", "")))
        here = urlsplit(self.service)
        return (there.scheme, there.netloc) == (here.scheme, here.netloc)

    def is_to_send_again(self, answer: requests.Response) -> bool:
        return answer.status_code in TO_SEND_AGAIN

    def wait_s(self, answer: requests.Response | None, tried: int) -> float:
        """As long as the service says; else longer each time, and never like others do."""
        told = answer.headers.get("Retry-After", "") if answer is not None else ""
        if told.isdigit():
            return float(told)
        return float(self.first_wait_s * 2 ** (tried - 1) * random.uniform(0.5, 1.5))

    def accepted(self, answer: requests.Response) -> requests.Response:
        if answer.status_code >= 300 and answer.status_code != 304:
            try:
                problem = answer.json()
            except ValueError:
                problem = {}
            raise Refused(answer.status_code, problem)
        return answer

    def read_json(self, answer: requests.Response) -> Document:
        """Numbers with a fraction become decimals; members that nobody asks for do no harm."""
        document: Document = answer.json(parse_float=Decimal)
        return document

    def amount_of(self, procedure: Document) -> Decimal | None:
        """What the stages cost."""
        cost = procedure.get("cost")
        return None if cost is None else Decimal(cost["total"])


class Inbox:
    """Takes webhooks, and acts on each once."""

    def __init__(self, secret: str) -> None:
        self.secret = secret
        self.handled: list[str] = []  # in earnest: a table with the id as its key
        self.turn = Lock()

    def take(self, headers: Mapping[str, str], body: bytes) -> int:
        """The status to answer with. `headers` by their names in small letters."""
        if not self.is_signed(headers, body):
            return 401
        event = json.loads(body)
        with self.turn:
            if self.is_new(headers["webhook-id"]):
                self.act_on(headers["webhook-id"], event)
        return 204

    def is_signed(self, headers: Mapping[str, str], body: bytes) -> bool:
        """Whether one of the signatures is that of these very bytes, and not older than five minutes."""
        try:
            Webhook(self.secret).verify(body, dict(headers), json_parse=False)
        except (WebhookVerificationError, ValueError):
            return False
        return True

    def is_new(self, event_id: str) -> bool:
        return event_id not in self.handled

    def act_on(self, event_id: str, event: Document) -> None:
        """Here your program does what is to be done, for the kinds of events that it knows."""
        self.handled.append(event_id)
