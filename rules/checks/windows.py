"""Windows that no order of the stages can keep."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rules.findings import Finding
from rules.pack import Pack, Stage


def windows(pack: Pack) -> Iterator[Finding]:
    """Windows that lead backward, send forward when missed, or close before the wait is over."""
    earlier = {name: _all_earlier(name, pack.stages) for name in pack.stages}
    if any(name in before for name, before in earlier.items()):
        return  # In a circle every stage is earlier than itself; the circle is told by its own check.
    for stage in pack.stages.values():
        if stage.window is None:
            continue
        yield from _backward(stage, earlier)
        if stage.window.if_missed and stage.id in earlier[stage.window.if_missed]:
            told = (
                f"'if_missed' of '{stage.id}' sends to '{stage.window.if_missed}', which only comes after it"
            )
            yield Finding("R212", stage.place, f"{told}; name the stage itself or an earlier one")
        yield from _too_short(stage, earlier)


def _backward(stage: Stage, earlier: Mapping[str, frozenset[str]]) -> Iterator[Finding]:
    for target in stage.window.to if stage.window else ():
        if target == stage.id or target in earlier[stage.id]:
            told = f"the window of '{stage.id}' leads to '{target}', which never comes after it"
            yield Finding("R210", stage.place, f"{told}; take it out of 'to', or mend 'after'")


def _too_short(stage: Stage, earlier: Mapping[str, frozenset[str]]) -> Iterator[Finding]:
    window, wait = stage.window, stage.wait
    if window is None or window.not_after_min is None or wait.minutes <= window.not_after_min or wait.heat:
        return
    if any(stage.id in earlier[target] for target in window.to):
        closes = f"its window closes after {window.not_after_min:g} min"
        told = f"'{stage.id}' waits {wait.minutes:g} min, but {closes}"
        yield Finding("R211", stage.place, f"{told}; shorten the wait or widen the window")


def _all_earlier(name: str, stages: Mapping[str, Stage]) -> frozenset[str]:
    """Every stage that comes before `name` whenever all of them are present."""
    found: set[str] = set()
    reached = list(stages[name].after)
    while reached:
        stage = reached.pop()
        if stage not in found:
            found.add(stage)
            reached.extend(stages[stage].after)
    return frozenset(found)
