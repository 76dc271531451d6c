"""Asks the client, through the driver that its integrator has written, to do something now."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import requests
from marshmallow import Schema, ValidationError

from schemas.conformance import DONE, Claims, Handled, Outcome
from schemas.faults import faults_of_body

Json = Mapping[str, Any]

PATIENCE_S = 20.0
"""So long the kit waits for a driver."""

CRASHED, SILENT = "crashed", "silent"
"""Outcomes that no driver tells."""

_WEBHOOK_PATIENCE_S = 5.0


class DriverFault(Exception):
    """The driver can't be reached, or says what the contract has no place for."""


@dataclass(frozen=True)
class Done:
    """What has become of what was asked."""

    outcome: str
    procedure_ids: tuple[str, ...] = ()
    amount: str | None = None
    problem: Json | None = None
    detail: str = ""

    @property
    def done(self) -> bool:
        return self.outcome == DONE

    def in_words(self) -> str:
        """For people."""
        more = f" ({self.detail})" if self.detail else ""
        if self.problem is not None:
            more = f" (status {self.problem['status']}, type '{self.problem['type']}')"
        return f"the client says '{self.outcome}'{more}"


class Driver:
    """The driver at an address. Every method may raise DriverFault."""

    def __init__(self, address: str) -> None:
        self._address = address.rstrip("/")
        self._session = requests.Session()
        # The driver itself is asked, whatever proxy the environment names.
        self._session.trust_env = False

    def close(self) -> None:
        """Let its connections go."""
        self._session.close()

    def configure(self, settings: Json) -> bool:
        """Hand over where the service is and how long to wait; whether the client claims to cache."""
        answer = self._asked("POST", "/configure", settings)
        if isinstance(answer, Done):
            raise DriverFault(f"{self._address}/configure: {answer.detail}; mend the driver first")
        return bool(_loaded(Claims(), answer, "/configure")["caches"])

    def create(self, line_item: Json) -> Done:
        """Let the client send a line item."""
        return self._do("/create", {"line_item": line_item})

    def read(self, procedure_id: str) -> Done:
        """Let it read a procedure back."""
        return self._do("/read", {"procedure_id": procedure_id})

    def find(self, reference: str) -> Done:
        """Let it find all procedures of a line item."""
        return self._do("/find", {"reference": reference})

    def report(self, procedure_id: str, actuals: Json) -> Done:
        """Let it report what stages took."""
        return self._do("/report", {"procedure_id": procedure_id, "actuals": actuals})

    def handled(self) -> list[str]:
        """The events that it has acted on."""
        answer = self._asked("GET", "/handled", None)
        if isinstance(answer, Done):
            raise DriverFault(f"{self._address}/handled: {answer.detail}; mend the driver first")
        return list(_loaded(Handled(), answer, "/handled")["handled"])

    def deliver(self, headers: Mapping[str, str], body: str) -> int | None:
        """Deliver a webhook; the status it is answered with, None where there is no answer in time."""
        sent = {"content-type": "application/json", **headers}
        try:
            return self._session.post(
                f"{self._address}/webhook",
                data=body.encode(),
                headers=sent,
                timeout=_WEBHOOK_PATIENCE_S,
                allow_redirects=False,
            ).status_code
        except requests.RequestException:
            return None

    def _do(self, path: str, asked: Json) -> Done:
        answer = self._asked("POST", path, asked)
        if isinstance(answer, Done):
            return answer
        told = _loaded(Outcome(), answer, path)
        return Done(told["outcome"], tuple(told["procedure_ids"]), told["amount"], told["problem"])

    def _asked(self, method: str, path: str, asked: Json | None) -> Done | bytes:
        """The body of what the driver answers; Done where that is of no use, but the driver lives."""
        try:
            response = self._session.request(
                method, f"{self._address}{path}", json=asked, timeout=PATIENCE_S, allow_redirects=False
            )
        except requests.ReadTimeout:
            return Done(SILENT, detail=f"nothing within {PATIENCE_S:.0f} s")
        except requests.RequestException as error:
            told = f"no driver answers at {self._address}{path}"
            raise DriverFault(f"{told} ({type(error).__name__}); start it, or name another URL") from error
        if response.status_code == 404:
            raise DriverFault(f"{self._address}{path} answers 404; the driver must have this path")
        if response.status_code != 200:
            return Done(CRASHED, detail=f"the driver answered {response.status_code}")
        return response.content


def _loaded(schema: Schema, answer: bytes, path: str) -> Mapping[str, Any]:
    try:
        loaded: Mapping[str, Any] = schema.load(json.loads(answer))
    except ValidationError as error:
        fault = next(iter(faults_of_body(error, schema)))
        told = fault.as_error("pointer")
        raise DriverFault(f"what the driver answers to {path}: {told['pointer']} {told['detail']}") from error
    except ValueError as error:
        raise DriverFault(f"what the driver answers to {path} is not JSON") from error
    return loaded
