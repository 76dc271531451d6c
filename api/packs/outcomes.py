"""What a pack makes of the facts that a line item states, as far as two packs are compared by it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from typing import Any

from planning.arranging import arranged
from planning.job import job_of
from planning.order import StageCircle, ordered
from planning.parameters import parameters_of
from planning.rounding import tenth, tenth_up
from planning.timing.durations import median_work_min
from planning.timing.start import Start
from planning.timing.temporal import InconsistentWindows
from planning.timing.timeline import scheduled
from rules.conditions import Value
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines.reference import ReferenceEngine
from rules.intake import FactsRefused, complete
from rules.materials.resolve import MaterialUnknown, resolve
from rules.pack import Pack, Stage, Substrate
from rules.vocabulary import Origin
from schemas.figures import plain
from storage.records import StatedFacts

COMPARED = (
    "resource",
    "labour",
    "instructions",
    "work",
    "wait",
    "window",
    "materials",
    "check",
    "cautions",
)
"""The members of a stage by which it is another stage to the person who does it."""

Members = Mapping[str, Any]


class Refused(Exception):
    """The pack issues no procedure for these facts; the message says why."""


@dataclass(frozen=True)
class Outcome:
    """Disposition, stages in working order with their members as JSON, and cautions."""

    disposition: str
    stages: Mapping[str, Members]
    cautions: frozenset[str]


@dataclass(frozen=True)
class Answered:
    """The answer to one statement of facts."""

    pack: Pack
    substrate: Substrate
    facts: Mapping[str, Value]
    decision: Decision
    outcome: Outcome

    @cached_property
    def labour_hours(self) -> dict[str, float]:
        """Hours by category, as in the totals of the procedure."""
        job, minutes = job_of(self.facts), dict[str, float]()
        for name in self.outcome.stages:
            stage = self.pack.stages[name]
            parameters = parameters_of(stage, self.decision.settings, self.substrate.properties)
            median_min = tenth(median_work_min(stage.work, parameters, job))
            minutes[stage.labour] = minutes.get(stage.labour, 0.0) + median_min
        return {category: tenth_up(sum_min / 60) for category, sum_min in minutes.items()}

    @cached_property
    def elapsed_min(self) -> float | None:
        """Start to finish at median durations; None where the windows contradict each other."""
        plan = arranged(self.pack, self.decision, self.substrate.properties, job_of(self.facts))
        try:
            return scheduled(plan.course, Start()).elapsed_min
        except InconsistentWindows:
            return None


class Outcomes:
    """What one pack answers. Decides by the reference evaluator: candidates are not proven yet."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        self._decider = Decider(pack, ReferenceEngine(pack))
        self._substrates: dict[str, Substrate] = {}
        self._known: dict[tuple[str, tuple[int, ...]], tuple[Decision, Outcome]] = {}
        self._members = {stage.id: _members(stage) for stage in pack.stages.values()}

    def answer(self, stated: StatedFacts) -> Answered:
        """Raises Refused."""
        try:
            substrate = self._substrate(stated.material)
            facts = complete(self.pack, substrate, self._given(stated)).values
            decision, outcome = self._decided(substrate, facts)
        except (FactsRefused, MaterialUnknown) as refused:
            raise Refused(str(refused)) from refused
        except (PackFault, StageCircle) as fault:
            raise Refused(f"the pack gives no single answer: {fault}") from fault
        return Answered(self.pack, substrate, facts, decision, outcome)

    def _given(self, stated: StatedFacts) -> dict[str, object]:
        """Without what is now a property of the material: that is no longer the line item's to say."""
        known = self.pack.vocabulary
        return {
            name: value
            for name, value in stated.facts.items()
            if name not in known or known[name].origin is Origin.LINE_ITEM
        }

    def _substrate(self, material: str) -> Substrate:
        if material not in self._substrates:
            self._substrates[material] = resolve(self.pack, material)
        return self._substrates[material]

    def _decided(self, substrate: Substrate, facts: Mapping[str, Value]) -> tuple[Decision, Outcome]:
        key = (substrate.symbol, self.pack.vocabulary.cells(facts))
        if key not in self._known:
            decision = self._decider.decide(facts)
            self._known[key] = decision, self._outcome(substrate, decision)
        return self._known[key]

    def _outcome(self, substrate: Substrate, decision: Decision) -> Outcome:
        stages: dict[str, Members] = {}
        cautions = set(decision.cautions)
        for name in ordered(self.pack.stages, decision.stages, self.pack.phases):
            stage = self.pack.stages[name]
            parameters = parameters_of(stage, decision.settings, substrate.properties)
            told = {f"parameters.{each}": plain(parameters[each]) for each in sorted(parameters)}
            stages[name] = {**self._members[name], **told}
            cautions.update(stage.cautions)
        return Outcome(decision.disposition.value, stages, frozenset(cautions))


def _members(stage: Stage) -> Members:
    described = asdict(stage)
    described["wait"]["kinetics"] = stage.wait.kinetics.value
    return {path: value for name in COMPARED for path, value in _flat(name, described[name])}


def _flat(name: str, value: Any) -> Iterator[tuple[str, Any]]:
    """A member, or each member of it with its path: `window.not_after_min`."""
    if not isinstance(value, Mapping):
        yield name, plain(value)
        return
    for below, each in value.items():
        yield from _flat(f"{name}.{below}", each)
