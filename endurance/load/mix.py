"""What shop software asks for over a day, as a seeded mix of requests."""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from random import Random
from threading import Lock

from bench.line_items import typical_line_items
from endurance.calling import Answer, Caller, Json

IN_A_BATCH = 5
REMEMBERED = 1000
"""So many of the latest requests are read, explained and sent again."""

LONGEST_MM = 300

PROCEDURES = "/v1/procedures"


class Kind(Enum):
    ISSUE = "issue"
    READ = "read"
    TIMELINE = "timeline"
    EXPLANATION = "explanation"
    REPLAY = "sent again"
    BATCH = f"batch of {IN_A_BATCH}"
    DRY_RUN = "dry run"
    IDENTIFICATION = "identification"
    VOCABULARY = "vocabulary, not modified"


WEIGHTS = {
    Kind.ISSUE: 40,
    Kind.READ: 20,
    Kind.TIMELINE: 5,
    Kind.EXPLANATION: 5,
    Kind.REPLAY: 5,
    Kind.BATCH: 5,
    Kind.DRY_RUN: 5,
    Kind.IDENTIFICATION: 10,
    Kind.VOCABULARY: 5,
}

_TESTS: tuple[Json, ...] = (
    {"marking": ">PP+EPDM-T20<"},
    {"tests": {"sanding": "smears", "float": "floats"}},
    {"tests": {"flex": "flexible"}},
)


@dataclass(frozen=True)
class Issued:
    """A line item that was answered: its key, its body, and the id of its procedure."""

    key: str
    body: Json
    procedure_id: str


class Mix:
    """Makes requests, one after another or in many threads at once."""

    def __init__(self, seed: int) -> None:
        self._draw = Random(seed)
        self._lock = Lock()
        self._bodies = [dict(each.body) for each in typical_line_items()]
        self._number = 0
        self._issued: deque[Issued] = deque(maxlen=REMEMBERED)
        self._etag: str | None = None

    def next(self) -> tuple[Kind, Callable[[Caller], str | None]]:
        """A request: its kind, and what sends it and tells what is wrong with the answer."""
        with self._lock:
            kind = self._draw.choices(list(WEIGHTS), list(WEIGHTS.values()))[0]
            if not self._issued and kind not in (Kind.BATCH, Kind.DRY_RUN, Kind.IDENTIFICATION):
                kind = Kind.ISSUE
            match kind:
                case Kind.ISSUE:
                    return kind, self._issue()
                case Kind.BATCH:
                    return kind, self._batch()
                case Kind.DRY_RUN:
                    return kind, _sending(f"{PROCEDURES}?dry_run=true", self._line_item(), 200)
                case Kind.IDENTIFICATION:
                    return kind, _sending("/v1/identifications", self._draw.choice(_TESTS), 200)
                case Kind.VOCABULARY:
                    return kind, self._read_vocabulary
                case Kind.REPLAY:
                    return kind, _sending_again(self._draw.choice(self._issued))
            procedure = f"{PROCEDURES}/{self._draw.choice(self._issued).procedure_id}"
            return kind, _reading(procedure + {Kind.READ: ""}.get(kind, f"/{kind.value}"))

    def _issue(self) -> Callable[[Caller], str | None]:
        body = self._line_item()
        key = str(body["line_item"]["reference"])

        def send(caller: Caller) -> str | None:
            answer = caller.post(PROCEDURES, body, key)
            if answer.status == 201:
                with self._lock:
                    self._issued.append(Issued(key, body, answer.json()["id"]))
            return _wrong(answer, 201)

        return send

    def _batch(self) -> Callable[[Caller], str | None]:
        body = {"line_items": [self._line_item() for _ in range(IN_A_BATCH)]}

        def send(caller: Caller) -> str | None:
            answer = caller.post(f"{PROCEDURES}/batch", body)
            if answer.status == 200 and not all("id" in each for each in answer.json()["results"]):
                return "a line item of a batch was refused"
            return _wrong(answer, 200)

        return send

    def _read_vocabulary(self, caller: Caller) -> str | None:
        etag = self._etag
        answer = caller.get("/v1/vocabulary", {"If-None-Match": etag} if etag else {})
        self._etag = answer.headers["ETag"] if answer.status in (200, 304) else None
        return _wrong(answer, 304 if etag else 200)

    def _line_item(self) -> Json:
        """One that differs from all before it, and in size from most."""
        self._number += 1
        body: Json = json.loads(json.dumps(self._draw.choice(self._bodies)))
        body["line_item"] = {"reference": f"RO-{self._number}"}
        damage = body.get("damage", {})
        if "length_mm" in damage:
            drawn_mm = damage["length_mm"] * self._draw.uniform(0.5, 2)
            damage["length_mm"] = round(min(drawn_mm, LONGEST_MM), 1)
        return body


def _sending(path: str, body: Json, expected: int) -> Callable[[Caller], str | None]:
    return lambda caller: _wrong(caller.post(path, body), expected)


def _reading(path: str) -> Callable[[Caller], str | None]:
    return lambda caller: _wrong(caller.get(path), 200)


def _sending_again(issued: Issued) -> Callable[[Caller], str | None]:
    def send(caller: Caller) -> str | None:
        answer = caller.post(PROCEDURES, issued.body, issued.key)
        if answer.status == 201 and not answer.replayed:
            return "what was sent again was done again"
        return _wrong(answer, 201)

    return send


def _wrong(answer: Answer, expected: int) -> str | None:
    if answer.status == expected:
        return None
    return f"answered {answer.status}: {answer.body[:300].decode(errors='replace')}"
