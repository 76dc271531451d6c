"""The durable-rules adapter. It owns every trap of that library; no other module knows them.

How it stays clear of them: one ruleset a pack, with the library's timer and dispatcher threads off;
facts, never events or batches; a start fact first, since a state in which no action ever ran can't be
deleted; a fresh state an evaluation, one at a time; small whole numbers only (`translate`); a kind tag
in every pattern and few rules behind each (`grouping`); one pattern a rule, so neither joins nor
not-exists; actions that only note the rule's id.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from itertools import count
from threading import Lock, get_ident
from typing import Any as Json

from durable.engine import Host, MessageNotHandledException, durable_rules_engine

from rules.engines import MatchLayer
from rules.engines.faults import EngineClosed, EngineFault
from rules.engines.grouping import KIND, START, Group, grouped
from rules.engines.limits import EngineLimit, breaches
from rules.engines.names import distinct_names, fnv1a
from rules.pack import Pack
from rules.predicates import Facts

_RULESET = "pack"


class _QuietHost(Host):  # type: ignore[misc]
    """A host without the timer and dispatcher threads, which crash when states are deleted."""

    def _run(self) -> None:
        pass


class DurableEngine:
    """One pack in durable-rules. Raises EngineLimit for a pack beyond `rules.engines.limits`.

    Threads take turns, which costs nothing: the library holds the interpreter lock throughout.
    """

    name = "durable-rules"

    def __init__(self, pack: Pack) -> None:
        found = breaches(pack)
        if found:
            raise EngineLimit(found)
        self._layers = grouped(pack)
        kinds = 1 + sum(len(layer) for layer in self._layers)
        self._ids = distinct_names("m", kinds, ())
        self._states = _state_names(self._ids)
        self._turn = Lock()
        self._holder: int | None = None
        self._state: str | None = None
        self._fired: set[str] = set()
        self._unusable: str | None = None
        self._host: Json = _QuietHost()
        self._host.register_rulesets({_RULESET: self._ruleset()})

    @contextmanager
    def evaluation(self) -> Iterator[MatchLayer]:
        """Raises EngineClosed, or EngineFault where the thread has an evaluation open already."""
        with self._turn_taken():
            state = self._start()
            try:
                yield lambda layer, facts: self._match(state, layer, facts)
            finally:
                self._state = None
                if self._unusable is None:
                    self._host.delete_state(_RULESET, state)

    @property
    def worn_out(self) -> str | None:
        """The reason why this engine can't go on; None also once it is closed."""
        return None if self._host is None else self._unusable

    def close(self) -> None:
        """Waits for the open evaluation, then gives the ruleset's memory back. May be repeated."""
        if self._holder == get_ident():
            raise EngineFault("close the evaluation before the engine")
        with self._turn:
            if self._host is not None:
                durable_rules_engine.delete_ruleset(self._host.get_ruleset(_RULESET)._handle)
            self._host = None
            self._unusable = "the engine is closed"

    def _ruleset(self) -> dict[str, Json]:
        rules: dict[str, Json] = {"start": _rule({KIND: START}, lambda closure: None)}
        patterns = (
            pattern for layer in self._layers for group in layer for pattern in group.patterns.items()
        )
        for number, (rule_id, pattern) in enumerate(patterns):
            rules[f"r{number}"] = _rule(pattern, self._noting(rule_id))
        return rules

    def _noting(self, rule_id: str) -> Callable[[Json], None]:
        """An action. The library takes one with a second parameter for asynchronous and drops its rest."""
        return lambda closure: self._note(rule_id)

    def _note(self, rule_id: str) -> None:
        self._fired.add(rule_id)

    @contextmanager
    def _turn_taken(self) -> Iterator[None]:
        if self._holder == get_ident():
            raise EngineFault("this thread has an evaluation open already")
        with self._turn:
            if self._unusable is not None:
                raise EngineClosed(self._unusable)
            self._holder = get_ident()
            try:
                yield
            finally:
                self._holder = None

    def _start(self) -> str:
        """Open a fresh state and run one action in it."""
        state = next(self._states)
        try:
            if not self._assert_fact(state, START, {}):
                raise EngineFault("the start rule did not fire")
        except BaseException:
            self._unusable = "a state of the engine could not be started, and can't be deleted"
            raise
        self._state = state
        return state

    def _match(self, state: str, layer: int, facts: Facts) -> frozenset[str]:
        if state != self._state:
            raise EngineFault("the evaluation is closed")
        self._fired = set()
        for group in self._layers[layer]:
            self._assert_fact(state, group.kind, _cells(group, facts))
        return frozenset(self._fired)

    def _assert_fact(self, state: str, kind: int, cells: Mapping[str, int]) -> bool:
        """Assert one fact and run the actions of every rule it matches; whether it matches any."""
        fact = {"sid": state, "id": self._ids[kind], KIND: kind, **cells}
        try:
            left = self._host.assert_fact(_RULESET, fact)
        except MessageNotHandledException:
            return False
        except MemoryError:
            self._unusable = "the engine ran out of memory; restart the process"
            raise
        except Exception as error:
            raise EngineFault(f"durable-rules refused a fact: {error!r}") from error
        if not isinstance(left, dict):
            # An action of over ten seconds by the wall clock, a clock put forward included.
            raise EngineFault("durable-rules left rules unfired")
        if "exception" in left:
            raise EngineFault(f"an action failed: {left['exception']}")
        return True


def _rule(pattern: Mapping[str, Json], action: Callable[[Json], None]) -> dict[str, Json]:
    return {"all": [{"m": pattern}], "run": action}


def _cells(group: Group, facts: Facts) -> dict[str, int]:
    return {attribute: fact.cell_of(facts[fact.name]) for attribute, fact in group.reads.items()}


def _state_names(message_ids: tuple[str, ...]) -> Iterator[str]:
    """Counted names. The library keeps a message 'sid-NAME' in each state; none may pass for one of ours."""
    taken = {fnv1a(message_id) for message_id in message_ids}
    return (name for name in map(str, count(1)) if fnv1a(f"sid-{name}") not in taken)
