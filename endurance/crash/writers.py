"""Clients that write as fast as they are answered, until nobody answers any more."""

from __future__ import annotations

from random import Random
from threading import Event, Thread
from time import sleep

from bench.line_items import typical_line_items
from endurance.calling import Caller, Json, Lost
from endurance.crash.ledger import Asked, Kind

IN_A_BATCH = 4
PAUSE_S = 0.2
"""After a failure; shop software would wait for longer."""

_WEIGHTS = {Kind.PROCEDURE: 10, Kind.BATCH: 3, Kind.ACTUALS: 6, Kind.RESET: 1}


class Writer(Thread):
    """Writes on a connection of its own; seeded, so that only the moments differ from run to run."""

    def __init__(self, port: int, name: str, seed: int) -> None:
        super().__init__(name=name, daemon=True)
        self._port = port
        self._draw = Random(seed)
        self._bodies = [dict(each.body) for each in typical_line_items()]
        self._stages: list[tuple[str, list[str]]] = []
        self._reports = 0
        self.asked: list[Asked] = []
        self.answered = Event()
        self._told_to_end = Event()

    def run(self) -> None:
        """Ends with the first request that nobody answers, or when it is told to."""
        caller = Caller(self._port)
        while not self._told_to_end.is_set():
            asked = self._next()
            self.asked.append(asked)
            try:
                asked.answer = caller.post(asked.path, asked.body, asked.key)
            except Lost:
                return
            self.answered.set()
            if asked.answer.status >= 500:
                sleep(PAUSE_S)
            if asked.kind is Kind.PROCEDURE and asked.answer.status == 201:
                document = asked.answer.json()
                self._stages.append((document["id"], [stage["stage"] for stage in document["stages"]]))

    def end(self) -> None:
        """Returns when the request under way was answered."""
        self._told_to_end.set()
        self.join()

    def _next(self) -> Asked:
        kind = self._draw.choices(list(_WEIGHTS), list(_WEIGHTS.values()))[0]
        key = f"{self.name}-{len(self.asked)}"
        known = [each for each in self._stages if each[1]]
        if kind is Kind.BATCH:
            items = [
                {**self._line_item(f"{key}-{n}"), "idempotency_key": f"{key}-{n}"} for n in range(IN_A_BATCH)
            ]
            return Asked(kind, "/v1/procedures/batch", {"line_items": items}, key)
        if kind is Kind.ACTUALS and known:
            procedure, stages = self._draw.choice(known)
            reports = [self._report(stage) for stage in self._draw.sample(stages, min(3, len(stages)))]
            return Asked(kind, f"/v1/procedures/{procedure}/actuals", {"actuals": reports}, key)
        if kind is Kind.RESET and known:
            stage = self._draw.choice(self._draw.choice(known)[1])
            return Asked(kind, f"/v1/estimates/{stage}/reset", {}, key)
        return Asked(Kind.PROCEDURE, "/v1/procedures", self._line_item(key), key)

    def _line_item(self, reference: str) -> Json:
        return {**self._draw.choice(self._bodies), "line_item": {"reference": reference}}

    def _report(self, stage: str) -> Json:
        # No two alike, so that each can be told from the others.
        self._reports += 1
        return {"stage": stage, "work_min": round(2 + self._reports / 1000, 3)}
