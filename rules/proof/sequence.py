"""Which stages come before which in every procedure, whatever else is present."""

from __future__ import annotations

from collections.abc import Mapping

from rules.pack import Stage


def earlier_stages(stages: Mapping[str, Stage]) -> dict[str, frozenset[str]]:
    """For each stage of a catalogue without circles, every stage it comes after, directly or not."""
    return {name: _earlier(stages, name) for name in stages}


def may_lie_between(earlier: Mapping[str, frozenset[str]], first: str, name: str, last: str) -> bool:
    """Whether a stage may be done after `first` and before `last`."""
    return name not in (first, last) and name not in earlier[first] and last not in earlier[name]


def _earlier(stages: Mapping[str, Stage], name: str) -> frozenset[str]:
    found: set[str] = set()
    frontier = {name}
    while frontier:
        frontier = {before for stage in frontier for before in stages[stage].after} - found
        found |= frontier
    return frozenset(found)
