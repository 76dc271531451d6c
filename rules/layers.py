"""Layers of derived facts: which rules must be evaluated before which.

A rule is evaluated after every rule that may conclude a fact it reads. Rules of one layer read
nothing that a rule of the same layer concludes, so their order means nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from rules.conditions import facts_read
from rules.pack import Rule


class CircularRules(ValueError):
    """Rules read what they (indirectly) conclude; `circle` names them in order, first and last equal."""

    def __init__(self, circle: tuple[str, ...]) -> None:
        super().__init__("rules read what they conclude: " + " -> ".join(circle))
        self.circle = circle


def layered(rules: Mapping[str, Rule]) -> tuple[tuple[str, ...], ...]:
    """Rule ids by layer, lowest first, sorted inside a layer. Raises CircularRules."""
    feeders = _feeders(rules.values())
    try:
        # Sorted, so that of several circles the same one is named in every run.
        ordered = {rule_id: sorted(feeders[rule_id]) for rule_id in sorted(feeders)}
        order = tuple(TopologicalSorter(ordered).static_order())
    except CycleError as error:
        raise CircularRules(tuple(error.args[1])) from error
    layer_of: dict[str, int] = {}
    for rule_id in order:
        layer_of[rule_id] = 1 + max((layer_of[feeder] for feeder in feeders[rule_id]), default=-1)
    count = 1 + max(layer_of.values(), default=-1)
    return tuple(
        tuple(sorted(rule_id for rule_id, layer in layer_of.items() if layer == number))
        for number in range(count)
    )


def _feeders(rules: Iterable[Rule]) -> dict[str, set[str]]:
    """For each rule, the rules that may conclude a fact it reads."""
    rules = tuple(rules)
    concluders: dict[str, set[str]] = {}
    for rule in rules:
        for fact in rule.conclude:
            concluders.setdefault(fact, set()).add(rule.id)
    return {
        rule.id: set().union(*(concluders.get(fact, set()) for fact in facts_read(rule.when)))
        for rule in rules
    }
