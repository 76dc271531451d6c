"""Whether a window can be kept: by the largest job, in any air, with all that may come between.

A window is kept for certain when it stays open for as long as its own wait and the work and wait of
everything that may be done before it closes. If that holds of every window, the whole network of a
procedure is consistent (`planning.timing.temporal`): the least lags along any circle of the distance graph
lead back over stages that its greatest lags lead forward over as often, so no circle is negative. This
is so of every job up to the largest: less work only makes more room.

Cold lengthens waits, and warmth lets a window close early. So the range of temperatures is cut into pieces:
over each, what is needed at its cold end must fit into what is open at its warm end.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from planning.job import Job, job_of
from planning.order import dependencies
from planning.stages import SizedStage, sized
from planning.timing.conditions import (
    HEAT_LIMIT,
    Conditions,
    film_um,
    fit_humidity_pct,
    with_terms_of_materials,
)
from planning.timing.temporal import TOLERANCE_MIN
from planning.timing.windows import opened_window
from rules.kinetics import DAMPEST_PCT
from rules.pack import Pack, ParameterValue, Stage
from rules.proof.windows import Span, Unkept

Settings = Mapping[tuple[str, str], ParameterValue]
Airs = tuple[float | None, ...]
"""Temperatures of the air between which, ends included, any may be met at any stage; None: not known."""

LARGEST = ("area_m2", "damage_length_mm", "damage_count")
AIR, HUMIDITY = "air_temperature_c", "relative_humidity_pct"

FINEST_K = 0.5
"""Pieces of the temperature range are not cut smaller; a window that is missed by less is refused."""


def why_not_kept(pack: Pack, span: Span, settings: Settings) -> Unkept | None:
    """Why the window of a span may not be kept; None where it is kept for certain."""
    reckoning = _reckoning(pack, replace(span, between=_between(pack, span)), settings)
    measured, others = _airs(pack, reckoning.span)
    for airs in others:
        if not reckoning.is_kept(airs):
            return reckoning.unkept(airs)
    piece = measured and _unkept_piece(reckoning.is_kept, *measured)
    return reckoning.unkept(piece) if piece else None


@dataclass(frozen=True)
class _Reckoning:
    """A span with what its stages need and how long its window is open, in any air."""

    span: Span
    stages: Mapping[str, Stage]
    parameters: Mapping[str, Mapping[str, ParameterValue]]
    job: Job
    conditions: Mapping[str, tuple[Conditions, ...]]

    def is_kept(self, airs: Airs) -> bool:
        """Whether what is needed fits into the window for certain."""
        closes_min = self._closes_min(airs)
        return closes_min is None or self._needed_min(airs) <= closes_min + TOLERANCE_MIN

    def unkept(self, airs: Airs) -> Unkept:
        """The window as one that may be missed."""
        span = self.span
        between = f" with {', '.join(sorted(span.between))} between them" if span.between else ""
        facts = {AIR: airs[0]} if len(airs) > 1 and airs[0] is not None else {}
        facts |= {name: high for name, _, high in span.limits if name in LARGEST}
        return Unkept(
            f"from the end of '{span.stage}' to the start of '{span.target}'{between} may take "
            f"{self._needed_min(airs):g} min, but the window closes after {self._closes_min(airs):g} min; "
            "widen it, shorten what lies between, or let it be done before",
            facts,
        )

    def _needed_min(self, airs: Airs) -> float:
        """Minutes from the end of the stage to the start of the target, if all that may lies between."""
        work_min = sum(self._sized(name, None, 0).work_min.p50 for name in self.span.between)
        return work_min + sum(self._lag_min(name, airs) for name in (self.span.stage, *self.span.between))

    def _lag_min(self, name: str, airs: Airs) -> float:
        """The least time to whatever comes after a stage: its wait, or until its window opens."""
        window, parameters = self.stages[name].window, self.parameters[name]
        sizes = [self._sized(name, air_c, at) for air_c in airs for at in range(len(self.conditions[name]))]
        wait_min = _longest_wait_min(sizes)
        if window is None:
            return wait_min
        return max(opened_window(name, window, parameters, wait_min, air_c).not_before_min for air_c in airs)

    def _closes_min(self, airs: Airs) -> float | None:
        name = self.span.stage
        window = self.stages[name].window
        assert window is not None, "a span is one of a window"
        opened = [opened_window(name, window, self.parameters[name], 0.0, air_c) for air_c in airs]
        return min((each.not_after_min for each in opened if each.not_after_min is not None), default=None)

    def _sized(self, name: str, air_c: float | None, at: int) -> SizedStage:
        conditions = replace(self.conditions[name][at], air_c=air_c)
        return sized(self.stages[name], self.parameters[name], self.job, conditions)


def _reckoning(pack: Pack, span: Span, settings: Settings) -> _Reckoning:
    names = (span.stage, *span.between)
    limits = {name: (low, high) for name, low, high in span.limits}
    parameters = {name: _parameters(pack, name, settings) for name in names}
    plastics = dict.fromkeys(limits.get(HEAT_LIMIT, (None,)))

    def conditions(name: str) -> tuple[Conditions, ...]:
        film = film_um(pack.stages[name], parameters[name], pack.materials)
        dampest = fit_humidity_pct(pack.stages[name], _dampest_pct(pack, span, limits), pack.materials)
        return tuple(Conditions(None, dampest, film, limit) for limit in plastics)

    return _Reckoning(
        span=span,
        stages={name: with_terms_of_materials(pack.stages[name], pack.materials) for name in names},
        parameters=parameters,
        job=job_of({name: high for name, (_, high) in limits.items() if name in LARGEST}),
        conditions={name: conditions(name) for name in names},
    )


def _longest_wait_min(sizes: list[SizedStage]) -> float:
    """The longest wait; of bakes the longest of each part, since no one plastic need have them all."""
    bakes = [size.bake for size in sizes if size.bake]
    if not bakes:
        return max(size.wait_min for size in sizes)
    parts = ("heat_up_min", "hold_min", "cool_down_min")
    return float(sum(max(getattr(bake, part) for bake in bakes) for part in parts))


def _airs(pack: Pack, span: Span) -> tuple[tuple[float, float] | None, list[Airs]]:
    """The range of air as it is measured, where it may be met, and the other airs that may be.

    Air that is brought for certain before the stage is met at every stage of the span. Where it may also
    come later, one stage may meet the one and another the other.
    """
    measured = next(((low, high) for name, low, high in span.limits if name == AIR), None)
    bringing = [name for name in sorted(span.bringing) if _air_brought(pack, name) is not None]
    brought = [_air_brought(pack, name) for name in bringing]
    if not bringing:
        return measured, [] if measured else [(None,)]
    if all(_surely_before(pack, name, span.stage) for name in bringing):
        return None, [(air_c,) for air_c in brought]
    return None, [(*(measured or (None,)), *brought)]


def _air_brought(pack: Pack, name: str) -> float | None:
    climate = pack.stages[name].brings
    return climate.air_c if climate else None


def _dampest_pct(pack: Pack, span: Span, limits: Mapping[str, tuple[float, float]]) -> float | None:
    """The highest humidity that may be met; air that is cooled may become as damp as can be."""
    if any(_air_brought(pack, name) is not None for name in span.bringing):
        return DAMPEST_PCT
    return limits[HUMIDITY][1] if HUMIDITY in limits else None


def _unkept_piece(kept: Callable[[Airs], bool], low: float, high: float) -> tuple[float, float] | None:
    """The coldest piece of a range for which the window is not shown to be kept; None where there is none."""
    if kept((low, high)):
        return None
    if high - low <= FINEST_K:
        return low, high
    middle = (low + high) / 2
    return _unkept_piece(kept, low, middle) or _unkept_piece(kept, middle, high)


def _between(pack: Pack, span: Span) -> frozenset[str]:
    """The stages that may be done between both ends, by the way in which `planning.order` chooses.

    Of the stages that are free it takes the first by phase and id. As long as a stage is not taken, it
    or one that comes before it is free: so it is taken after another only if it must be, or if it or
    one that comes before it ranks after that other.
    """
    rank = _ranks(pack)
    earlier = dependencies(pack.stages, {*span.between, span.stage, span.target})

    def yields(name: str, to: str) -> bool:
        before = earlier[name] - {span.stage}
        return to in earlier[name] or any(rank[each] > rank[to] for each in (name, *before))

    return frozenset(name for name in span.between if yields(name, span.stage) and yields(span.target, name))


def _surely_before(pack: Pack, name: str, other: str) -> bool:
    """Whether a stage is taken before another whatever else is present; see `_between`."""
    rank = _ranks(pack)
    before = dependencies(pack.stages, pack.stages)[name]
    return other not in before and all(rank[each] < rank[other] for each in (name, *before))


def _ranks(pack: Pack) -> dict[str, tuple[int, str]]:
    return {name: (pack.phases.index(stage.phase), name) for name, stage in pack.stages.items()}


def _parameters(pack: Pack, name: str, settings: Settings) -> dict[str, ParameterValue]:
    """Without what the stage covers: work on the whole part takes longest, however large the damage."""
    chosen = {parameter: value for (stage, parameter), value in settings.items() if stage == name}
    parameters = {**pack.stages[name].parameters, **chosen}
    return {parameter: value for parameter, value in parameters.items() if parameter != "covers"}
