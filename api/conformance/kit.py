"""What every check works with: the client by its driver, the stage that answers it, and the judge."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count, pairwise
from typing import Any
from uuid import uuid4

from api.conformance.driver import Done, Driver
from api.conformance.exchange import Exchange
from api.conformance.faults import Fault
from api.conformance.model import Judge
from api.conformance.script import Scene
from api.conformance.service import Played
from schemas.examples import MINIMAL

Json = Mapping[str, Any]


@dataclass
class Kit:
    """One run. `caches`: the client claims to ask whether what it has read still holds."""

    driver: Driver
    played: Played
    judge: Judge
    webhook_secret: str
    caches: bool = False
    numbers: Iterator[int] = field(default_factory=lambda: count(1))
    run: str = field(default_factory=lambda: uuid4().hex[:8])

    def reference(self) -> str:
        """Of a new line item; none of them begins like another."""
        return f"KIT-{self.run}-{next(self.numbers):03}"

    @contextmanager
    def scene(self, reference: str, *faults: Fault) -> Iterator[Scene]:
        """While it lasts, requests about a line item meet the faults, one each."""
        with self.played.stage.scene(reference, faults=faults) as scene:
            yield scene

    def create(self, *faults: Fault, **sections: Any) -> tuple[Scene, Done]:
        """Let the client send a new line item through the faults."""
        line_item = line_item_of(self.reference(), **sections)
        with self.scene(line_item["line_item"]["reference"], *faults) as scene:
            done = self.driver.create(line_item)
        return scene, done


def line_item_of(reference: str, **sections: Any) -> Json:
    """An invented line item that the service takes; `sections` replace its own."""
    rates = {"currency": "USD", "labour_per_hour": {"body": "62.10", "refinish": "58.05"}}
    return {**MINIMAL, "rates": rates, **sections, "line_item": {"reference": reference}}


def posts(scene: Scene) -> list[Exchange]:
    """The creating requests of a scene."""
    return [exchange for exchange in scene.seen if exchange.method == "POST"]


def waits_s(scene: Scene) -> list[float]:
    """How long the client waited after each answer but the last."""
    return [later.came_s - (earlier.answered_s or earlier.came_s) for earlier, later in pairwise(scene.seen)]
