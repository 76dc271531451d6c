"""Things that come before themselves: derived facts, stages and overrides in a circle."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from rules.conditions import facts_read
from rules.findings import Finding
from rules.pack import Pack


def circles(pack: Pack) -> Iterator[Finding]:
    """One circle of each kind, where there is any, with everything on it named."""
    rules = _circle(_feeders(pack))
    if rules:
        told = "; ".join(_feeding(pack, right, left) for left, right in pairwise(rules))
        mend = "let one of them read the facts behind the derived one"
        yield Finding("R201", pack.rules[rules[0]].place, f"rules read what they conclude: {told}; {mend}")
    stages = _circle({stage.id: stage.after for stage in pack.stages.values()})
    if stages:
        told = "stages come after one another in a circle: " + " after ".join(stages)
        yield Finding("R202", pack.stages[stages[0]].place, f"{told}; take one 'after' away")
    overriding = {rule.id: pack.rules.keys() & rule.overrides for rule in pack.rules.values()}
    rules = _circle(overriding)
    if rules:
        told = "rules override one another in a circle: " + " overrides ".join(rules)
        yield Finding("R203", pack.rules[rules[0]].place, f"{told}; take one 'overrides' away")


def _feeders(pack: Pack) -> dict[str, set[str]]:
    """For each rule, those that may conclude a fact that it reads."""
    concluders: dict[str, set[str]] = {}
    for rule in pack.rules.values():
        for fact in rule.conclude:
            concluders.setdefault(fact, set()).add(rule.id)
    return {
        rule.id: set().union(*(concluders.get(fact, ()) for fact in facts_read(rule.when)))
        for rule in pack.rules.values()
    }


def _feeding(pack: Pack, feeder: str, reader: str) -> str:
    facts = facts_read(pack.rules[reader].when) & pack.rules[feeder].conclude.keys()
    return f"'{reader}' reads {', '.join(sorted(facts))}, which '{feeder}' concludes"


def _circle(before: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """Names of which each comes after the next, the last being the first again; () where no circle is."""
    ordered = {name: sorted(before[name]) for name in sorted(before)}
    try:
        tuple(TopologicalSorter(ordered).static_order())
    except CycleError as error:
        steps = list(reversed(error.args[1][1:]))
        start = steps.index(min(steps))
        return (*steps[start:], *steps[: start + 1])
    return ()
