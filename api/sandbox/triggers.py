"""In a sandbox some references of line items bring a certain failure, or a certain disposition.

So an integrator sees each of them at once. For every other shop they are references like any other.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from threading import BoundedSemaphore
from typing import Any

from api.idempotency.asking import RETRY_AFTER_S, problem_of
from api.idempotency.repeating import let_go
from api.problem_types import INTERNAL_ERROR, RATE_LIMITED, STORE_UNAVAILABLE, ProblemType
from api.problems import Problem
from api.sandbox.telling import in_sandbox
from schemas.line_item.body import Body
from storage.idempotency import Taken

SLOW_S = 8

_TOLD = "it was asked for by the reference of the line item, in a sandbox"

Act = Callable[[Body], Body]
"""From a line item to the one that is answered. May raise Problem, or take its time."""


@dataclass(frozen=True)
class Trigger:
    """What a reference is answered with, in words, and how."""

    about: str
    act: Act


def answered_as(line_item: Body) -> Body:
    """The line item that is to be answered: another one where a reference asks for that, in a sandbox.

    Raises Problem where the reference asks for one.
    """
    trigger = TRIGGERS.get(line_item["line_item"]["reference"])
    return trigger.act(line_item) if trigger is not None and in_sandbox() else line_item


def _problem(kind: ProblemType, retry_after_s: int | None = None) -> Act:
    def act(_line_item: Body) -> Body:
        let_go()
        headers = None if retry_after_s is None else {"Retry-After": str(retry_after_s)}
        raise Problem(kind, _TOLD, headers=headers)

    return act


def _taken(taken: Taken) -> Act:
    def act(_line_item: Body) -> Body:
        let_go()
        raise problem_of(taken)

    return act


def _stand_in(**sections: Mapping[str, Any]) -> Act:
    """Parts and damages by which the base pack, and what is laid on it, decides so."""

    def act(line_item: Body) -> Body:
        part = {"name": line_item["part"]["name"], **sections["part"]}
        return {**line_item, "part": part, "damage": sections["damage"]}

    return act


class _Slowly:
    """One at a time, so that nobody takes all threads of a service this way."""

    def __init__(self) -> None:
        self._turn = BoundedSemaphore(1)

    def __call__(self, line_item: Body) -> Body:
        if not self._turn.acquire(blocking=False):
            _problem(RATE_LIMITED, SLOW_S)(line_item)
        try:
            time.sleep(SLOW_S)
        finally:
            self._turn.release()
        return line_item


TRIGGERS = {
    "sandbox-rate-limited": Trigger("429 `rate-limited`, with `Retry-After: 1`", _problem(RATE_LIMITED, 1)),
    "sandbox-unavailable": Trigger(
        "503 `store-unavailable`, with `Retry-After: 1`", _problem(STORE_UNAVAILABLE, 1)
    ),
    "sandbox-failure": Trigger("500 `internal-error`", _problem(INTERNAL_ERROR)),
    "sandbox-slow": Trigger(
        f"its procedure, after {SLOW_S} seconds; 429 while another such one is under way", _Slowly()
    ),
    "sandbox-running": Trigger(
        f"409 `idempotency-key-running`, with `Retry-After: {RETRY_AFTER_S}`", _taken(Taken.RUNNING)
    ),
    "sandbox-key-reused": Trigger("422 `idempotency-key-reused`", _taken(Taken.DIFFERENT)),
    "sandbox-refer": Trigger(
        "the procedure of a cracked airbag cover, so `refer`, whatever part and damage are stated",
        _stand_in(
            part={"material": "TPV", "condition": "factory_finish", "features": ["airbag_cover"]},
            damage={"type": "crack", "length_mm": 20.0},
        ),
    ),
    "sandbox-replace": Trigger(
        "the procedure of a cracked part of acetal, so `replace`, whatever part and damage are stated",
        _stand_in(
            part={"material": "POM", "condition": "factory_finish", "features": []},
            damage={"type": "crack", "length_mm": 20.0, "backside_access": True},
        ),
    ),
}
