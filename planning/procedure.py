"""From a decision to a procedure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planning.arranging import arranged
from planning.assumptions import bearing
from planning.cautions import asked_cautions
from planning.costs.costing import costed
from planning.emissions.limits import chain_of
from planning.emissions.obligations import with_obligations
from planning.emissions.voc import emissions
from planning.job import job_of
from planning.learning.model import Learned
from planning.materials.needs import material_needs
from planning.materials.pick_list import pick_list
from planning.model import Procedure, Terms
from planning.place.holding import held_back
from planning.place.report import place_report
from planning.scheduling import schedule
from planning.stages import planned
from planning.timing.batches import with_pot_lives
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
    arrangement = arranged(pack, decision.stages, decision.settings, substrate.properties, job, learned)
    timed = schedule(arrangement, start_of(terms.start_at, terms.calendar))
    stages = tuple(
        planned(size, position, timed.windows[name], decision.stages[name])
        for position, (name, size) in enumerate(arrangement.sizes.items(), start=1)
    )
    sums = totals(stages, timed.timeline, timed.jobs, pack.labour)
    needs = material_needs(stages, pack.stages, pack.materials, job)
    stages = with_pot_lives(stages, pack, needs, arrangement.air_c)
    evaporated = emissions(needs, decision.stages, pack, terms.jurisdiction)
    chain = chain_of(terms.jurisdiction, pack.jurisdictions)
    asked, stages = with_obligations(decision.cautions, stages, evaporated, chain)
    procedure = Procedure(
        disposition=decision.disposition,
        reasons=decision.reasons,
        assumptions=bearing(pack, complete.assumptions, stages),
        cautions=asked_cautions(asked, stages, pack.cautions),
        stages=stages,
        timeline=timed.timeline,
        totals=sums,
        materials=needs,
        pick_list=pick_list(needs, pack.materials),
        emissions=evaporated,
        cost=None,
        place=place_report(job, [stage.stage for stage in stages], pack.stages, pack.materials),
    )
    if terms.rates:
        procedure = replace(procedure, cost=costed(procedure, complete.values, terms.rates))
    return held_back(procedure)
