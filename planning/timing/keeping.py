"""Whether a window can be kept: by the largest job, in the coldest air, with all that may come between.

A window is kept for certain when it stays open for as long as its own wait and the work and wait of
everything that may be done before it closes. If that holds of every window, the whole network of a
procedure is consistent (`planning.timing.temporal`): the least lags along any circle of the distance graph
lead back over stages that its greatest lags lead forward over as often, so no circle is negative. This
is so of every job up to the largest: less work and a shorter wait only make more room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planning.job import job_of
from planning.order import dependencies
from planning.parameters import number
from planning.stages import SizedStage, sized
from planning.timing.temporal import TOLERANCE_MIN
from rules.pack import Pack, ParameterValue
from rules.proof.windows import Span, Unkept

Settings = Mapping[tuple[str, str], ParameterValue]

LARGEST = ("area_m2", "damage_length_mm", "damage_count")
COLDEST = "air_temperature_c"


def why_not_kept(pack: Pack, span: Span, settings: Settings) -> Unkept | None:
    """Why the window of a span may not be kept; None where it is kept for certain."""
    span = replace(span, between=_between(pack, span))
    closes_min = _closes_min(pack, span, settings)
    facts = {name: high for name, _, high in span.limits if name in LARGEST}
    facts |= {name: low for name, low, _ in span.limits if name == COLDEST}
    needed_min = _needed_min(pack, span, settings, facts)
    if closes_min is None or needed_min <= closes_min + TOLERANCE_MIN:
        return None
    between = f" with {', '.join(sorted(span.between))} between them" if span.between else ""
    told = (
        f"from the end of '{span.stage}' to the start of '{span.target}'{between} may take "
        f"{needed_min:g} min, but the window closes after {closes_min:g} min; widen it, shorten what lies "
        "between, or let it be done before"
    )
    return Unkept(told, facts)


def _between(pack: Pack, span: Span) -> frozenset[str]:
    """The stages that may be done between both ends, by the way in which `planning.order` chooses.

    Of the stages that are free it takes the first by phase and id. As long as a stage is not taken, it
    or one that comes before it is free: so it is taken after another only if it must be, or if it or
    one that comes before it ranks after that other.
    """
    rank = {name: (pack.phases.index(stage.phase), name) for name, stage in pack.stages.items()}
    earlier = dependencies(pack.stages, {*span.between, span.stage, span.target})

    def yields(name: str, to: str) -> bool:
        before = earlier[name] - {span.stage}
        return to in earlier[name] or any(rank[each] > rank[to] for each in (name, *before))

    return frozenset(name for name in span.between if yields(name, span.stage) and yields(span.target, name))


def _needed_min(pack: Pack, span: Span, settings: Settings, facts: Mapping[str, float]) -> float:
    """Minutes from the end of the stage to the start of the target, if all that may lies between."""
    stages = {name: _sized(pack, name, settings, facts) for name in (span.stage, *sorted(span.between))}
    work_min = sum(stages[name].work_min.p50 for name in span.between)
    return work_min + sum(map(_lag_min, stages.values()))


def _sized(pack: Pack, name: str, settings: Settings, facts: Mapping[str, float]) -> SizedStage:
    return sized(pack.stages[name], _parameters(pack, name, settings), job_of(facts))


def _lag_min(size: SizedStage) -> float:
    """The least time to whatever comes after a stage: its wait, or until its window opens."""
    opens_min = number(size.parameters, "not_before_min")
    if opens_min is None:
        opens_min = size.stage.window.not_before_min if size.stage.window else 0.0
    return max(size.wait_min, opens_min)


def _closes_min(pack: Pack, span: Span, settings: Settings) -> float | None:
    window = pack.stages[span.stage].window
    closes_min = number(_parameters(pack, span.stage, settings), "not_after_min")
    return window.not_after_min if closes_min is None and window else closes_min


def _parameters(pack: Pack, name: str, settings: Settings) -> dict[str, ParameterValue]:
    chosen = {parameter: value for (stage, parameter), value in settings.items() if stage == name}
    return {**pack.stages[name].parameters, **chosen}
