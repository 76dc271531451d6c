"""From a decision to a procedure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planning.arranging import Arrangement, arranged
from planning.assumptions import bearing
from planning.costs.costing import costed
from planning.emissions.voc import emissions
from planning.job import job_of
from planning.learning.model import Learned
from planning.materials.needs import material_needs
from planning.materials.pick_list import pick_list
from planning.model import PlannedStage, Procedure, Terms
from planning.scheduling import Schedule, schedule
from planning.stages import planned
from planning.timing.batches import pot_lives
from planning.timing.model import PotLifeUse
from planning.timing.start import start_of
from planning.timing.totals import totals
from rules.decision import Decision
from rules.intake import CompleteFacts
from rules.pack import Pack, Substrate


def plan(
    pack: Pack,
    substrate: Substrate,
    complete: CompleteFacts,
    decision: Decision,
    terms: Terms,
    learned: Mapping[str, Learned] | None = None,
) -> Procedure:
    """The procedure that `decision` asks for.

    Raises StageCircle, InconsistentWindows, and CalendarTooNarrow where opening hours leave no room.
    `learned` is what the shop's finished jobs say, by stage.
    """
    job = job_of(complete.values)
    order = arranged(pack, decision, substrate.properties, job, learned, terms.jurisdiction)
    template, pace = order.template, order.pace
    timed = schedule(order, start_of(terms.start_at, terms.calendar))
    areas_m2 = {name: size.area_m2 for name, size in order.sizes.items()}
    needs = material_needs(template.usages, areas_m2, job.spot)
    stages = _stages(order, timed, pot_lives(pace.pots, needs, order.sizes))
    procedure = Procedure(
        disposition=decision.disposition,
        reasons=decision.reasons,
        assumptions=bearing(complete.assumptions, template.idle),
        cautions=template.asked,
        stages=stages,
        timeline=replace(timed.timeline, held=tuple(pace.held)) if pace.held else timed.timeline,
        totals=totals(stages, timed.timeline, timed.jobs, pack.labour),
        materials=needs,
        pick_list=pick_list(needs, pack.materials),
        emissions=emissions(needs, template.assessed, terms.jurisdiction),
        cost=None,
        place=pace.place,
    )
    if terms.rates is None:
        return procedure
    return replace(procedure, cost=costed(procedure, complete.values, terms.rates))


def _stages(
    order: Arrangement, timed: Schedule, mixed: Mapping[str, PotLifeUse | None]
) -> tuple[PlannedStage, ...]:
    template, pace = order.template, order.pace
    return tuple(
        [
            planned(
                size,
                position,
                timed.windows.get(name, ()),
                template.carried[name],
                template.decision.stages[name],
                pace.held.get(name, ()),
                mixed.get(name),
            )
            for position, (name, size) in enumerate(order.sizes.items(), start=1)
        ]
    )
