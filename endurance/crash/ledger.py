"""What writers asked for, and what of it was acknowledged: everything that a check after a crash knows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from endurance.calling import Answer, Json


class Kind(Enum):
    PROCEDURE = "procedures"
    BATCH = "batches"
    ACTUALS = "reports"
    RESET = "resets of estimates"


@dataclass
class Asked:
    """One request with its key; `answer` is None until one has come, whole."""

    kind: Kind
    path: str
    body: Json
    key: str
    answer: Answer | None = None

    @property
    def line_items(self) -> Iterator[tuple[str, Json]]:
        """Each line item that it asks a procedure for, with the key of its own."""
        if self.kind is Kind.PROCEDURE:
            yield self.key, self.body
        elif self.kind is Kind.BATCH:
            for item in self.body["line_items"]:
                yield (
                    item["idempotency_key"],
                    {name: item[name] for name in item if name != "idempotency_key"},
                )

    def procedures(self) -> list[Json]:
        """The procedures it was answered with."""
        if self.answer is None or self.kind not in (Kind.PROCEDURE, Kind.BATCH):
            return []
        document = self.answer.json()
        results: list[Json] = [document] if self.kind is Kind.PROCEDURE else document["results"]
        return results
