"""Engines that tell which rules of a layer hold: the reference evaluator and the durable-rules adapter."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Protocol

from rules.predicates import Facts

MatchLayer = Callable[[int, Facts], frozenset[str]]
"""(layer number, complete facts up to that layer) -> ids of the rules of that layer that hold."""


class Engine(Protocol):
    """Built for one pack; safe to use from several threads, one evaluation each."""

    name: str

    @property
    def worn_out(self) -> str | None:
        """Why no evaluation can begin any more, until the process is started anew; None while one can."""
        ...

    def evaluation(self) -> AbstractContextManager[MatchLayer]:
        """Open one evaluation. Layers are asked for in ascending order, each at most once."""
        ...

    def close(self) -> None:
        """Release what the engine holds. No evaluation may be open; further use is an error."""
        ...
