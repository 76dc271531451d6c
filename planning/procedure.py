"""From a decision to a procedure."""

from __future__ import annotations

from planning.arranging import arranged
from planning.cautions import asked_cautions
from planning.costs.labour import cost
from planning.emissions.voc import emissions
from planning.job import Job, job_of
from planning.materials.needs import material_needs
from planning.model import PlannedStage, Procedure, Terms
from planning.place.dew_point import place_report
from planning.stages import planned
from planning.timing.timeline import timeline
from planning.timing.totals import totals
from planning.timing.windows import Lag
from rules.decision import Decision
from rules.intake import CompleteFacts
from rules.pack import Pack, Substrate


def plan(
    pack: Pack, substrate: Substrate, complete: CompleteFacts, decision: Decision, terms: Terms
) -> Procedure:
    """The procedure that `decision` asks for. Raises StageCircle or InconsistentWindows."""
    job = job_of(complete.values)
    stages, lags = _stages(pack, substrate, decision, job)
    sums = totals(stages, pack.stages, lags, pack.labour)
    needs = material_needs(stages, pack.materials, job.area_m2)
    return Procedure(
        disposition=decision.disposition,
        reasons=decision.reasons,
        assumptions=complete.assumptions,
        cautions=asked_cautions(decision.cautions, stages, pack.cautions),
        stages=stages,
        timeline=timeline(
            [stage.stage for stage in stages],
            {stage.stage: stage.work_min.p50 for stage in stages},
            {stage.stage: stage.wait_min for stage in stages},
            lags,
            terms.start_at,
        ),
        totals=sums,
        materials=needs,
        emissions=emissions(needs, pack.materials, terms.jurisdiction),
        cost=cost(sums.labour_hours, terms.rates) if terms.rates else None,
        place=place_report(job, _coating(pack, stages)),
    )


def _stages(
    pack: Pack, substrate: Substrate, decision: Decision, job: Job
) -> tuple[tuple[PlannedStage, ...], tuple[Lag, ...]]:
    """The planned stages in working order, and the lags between them."""
    plan = arranged(pack, decision.stages, decision.settings, substrate.properties, job)
    stages = tuple(
        planned(size, position, plan.windows[name], decision.stages[name])
        for position, (name, size) in enumerate(plan.sizes.items(), start=1)
    )
    return stages, plan.lags


def _coating(pack: Pack, stages: tuple[PlannedStage, ...]) -> list[str]:
    """The stages that use a coating."""
    return [
        stage.stage
        for stage in stages
        if any(pack.materials[material].kind == "coating" for material in stage.materials)
    ]
