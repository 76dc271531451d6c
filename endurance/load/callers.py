"""Callers: as many as asked for, each as fast as it is answered; or as many as it takes to keep a rate."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from random import Random
from threading import Lock, local
from time import monotonic, sleep

from endurance.calling import Caller, Lost
from endurance.load.mix import Kind, Mix

MOST_CALLERS = 32


@dataclass
class Tally:
    """How long requests took, by kind, and what was wrong with answers, each with how often."""

    took_s: dict[Kind, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: Counter[str] = field(default_factory=Counter)
    lasted_s: float = 0.0
    _lock: Lock = field(default_factory=Lock)

    @property
    def requests(self) -> int:
        return sum(map(len, self.took_s.values()))

    @property
    def per_s(self) -> float:
        return self.requests / self.lasted_s

    def add(self, kind: Kind, took_s: float, wrong: str | None) -> None:
        with self._lock:
            self.took_s[kind].append(took_s)
            if wrong is not None:
                self.wrong[f"{kind.value}: {wrong}"] += 1


def as_fast_as_answered(port: int, mix: Mix, callers: int, for_s: float) -> Tally:
    """`callers` at once, each sending its next request when the last one was answered."""
    tally, began_s = Tally(), monotonic()

    def call() -> None:
        caller = Caller(port)
        while monotonic() - began_s < for_s:
            _send(mix, caller, monotonic(), tally)

    with ThreadPoolExecutor(callers) as pool:
        for each in [pool.submit(call) for _ in range(callers)]:
            each.result()
    tally.lasted_s = monotonic() - began_s
    return tally


def at_rate(port: int, mix: Mix, per_s: float, for_s: float, seed: int, look: Callable[[], object]) -> Tally:
    """Requests at random moments, `per_s` on average, whether the last ones were answered or not.

    What a request takes counts from the moment at which it was due, also where it then had to wait for
    one of the callers. `look` is called about once a second.
    """
    tally, draw, own = Tally(), Random(seed), local()

    def call(due_s: float) -> None:
        if not hasattr(own, "caller"):
            own.caller = Caller(port)
        _send(mix, own.caller, due_s, tally)

    began_s = due_s = looked_s = monotonic()
    with ThreadPoolExecutor(MOST_CALLERS) as pool:
        while due_s - began_s < for_s:
            due_s += draw.expovariate(per_s)
            sleep(max(0.0, due_s - monotonic()))
            pool.submit(call, due_s)
            if monotonic() - looked_s > 1:
                looked_s = monotonic()
                look()
    tally.lasted_s = monotonic() - began_s
    return tally


def _send(mix: Mix, caller: Caller, due_s: float, tally: Tally) -> None:
    kind, send = mix.next()
    try:
        wrong = send(caller)
    except Lost as lost:
        wrong = f"no answer: {lost}"
    tally.add(kind, monotonic() - due_s, wrong)
