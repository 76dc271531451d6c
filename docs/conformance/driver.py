"""The driver of the client beside it: what `stagewright conformance` asks, the client is asked.

    python docs/conformance/driver.py [PORT]

It says where it listens. Needs nothing but Python besides what the client needs.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from shop_client import GaveUp, Inbox, Refused, ShopClient

Document = dict[str, Any]

CALLS = ("configure", "create", "read", "find", "report", "handled")


class Driver:
    """What there is between the kit and one client. `make` makes the client, `receive` its inbox."""

    def __init__(
        self, make: Callable[..., ShopClient] = ShopClient, receive: Callable[[str], Inbox] = Inbox
    ) -> None:
        self.make, self.receive = make, receive
        self.client: ShopClient | None = None
        self.inbox: Inbox | None = None

    def configure(self, asked: Document) -> Document:
        secret = asked.pop("webhook_secret")
        self.close()
        self.client, self.inbox = self.make(**asked), self.receive(secret)
        return {"caches": True}

    def create(self, asked: Document) -> Document:
        return self.outcome(lambda client: [client.create(asked["line_item"])])

    def read(self, asked: Document) -> Document:
        return self.outcome(lambda client: [client.read(asked["procedure_id"])])

    def find(self, asked: Document) -> Document:
        return self.outcome(lambda client: client.find(asked["reference"]))

    def report(self, asked: Document) -> Document:
        def report(client: ShopClient) -> list[Document]:
            client.report(asked["procedure_id"], asked["actuals"])
            return []

        return self.outcome(report)

    def handled(self, _asked: Document) -> Document:
        return {"handled": self.inbox.handled if self.inbox else []}

    def outcome(self, ask: Callable[[ShopClient], list[Document]]) -> Document:
        """What has become of it, in the words of the contract."""
        assert self.client is not None, "configure comes first"
        try:
            procedures = ask(self.client)
        except Refused as refused:
            pointers = [each["pointer"] for each in refused.problem.get("errors", []) if "pointer" in each]
            problem = {"status": refused.status, "type": refused.problem.get("type", "about:blank")}
            return {"outcome": "refused", "problem": {**problem, "pointers": pointers}}
        except GaveUp:
            return {"outcome": "gave_up"}
        amounts = [self.client.amount_of(each) for each in procedures]
        amount = str(amounts[0]) if amounts and amounts[0] is not None else None
        return {"outcome": "done", "procedure_ids": [each["id"] for each in procedures], "amount": amount}

    def close(self) -> None:
        if self.client is not None:
            self.client.close()


def server_of(driver: Driver, port: int = 0) -> ThreadingHTTPServer:
    """A server of this machine that answers for a driver; 0 takes any free port."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.answer(b"{}")

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            if self.path != "/webhook":
                self.answer(body)
            elif driver.inbox is not None:
                headers = {name.lower(): value for name, value in self.headers.items()}
                self.reply(driver.inbox.take(headers, body), b"")

        def answer(self, body: bytes) -> None:
            call = self.path.strip("/")
            if call not in CALLS:
                self.reply(404, b"")
                return
            try:
                told = getattr(driver, call)(json.loads(body))
            except Exception as crashed:
                self.reply(500, repr(crashed).encode())
            else:
                self.reply(200, json.dumps(told).encode())

        def reply(self, status: int, body: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_told: object) -> None:
            pass

    return ThreadingHTTPServer(("127.0.0.1", port), Handler)


if __name__ == "__main__":
    server = server_of(Driver(), int(sys.argv[1]) if len(sys.argv) > 1 else 8090)
    print(f"the driver listens at http://127.0.0.1:{server.server_address[1]}", flush=True)
    server.serve_forever()
