"""The reference evaluator: every rule of a layer, tested by `rules.predicates`."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rules.engines import MatchLayer
from rules.pack import Pack
from rules.predicates import Facts, holds


class ReferenceEngine:
    """Plain Python, no state; answers where durable-rules does not import."""

    name = "reference"
    worn_out = None

    def __init__(self, pack: Pack) -> None:
        self._layers = tuple(tuple(pack.rules[rule_id] for rule_id in layer) for layer in pack.layers)

    @contextmanager
    def evaluation(self) -> Iterator[MatchLayer]:
        yield self._match

    def close(self) -> None:
        """Nothing is held."""

    def _match(self, layer: int, facts: Facts) -> frozenset[str]:
        return frozenset(rule.id for rule in self._layers[layer] if holds(rule.when, facts))
