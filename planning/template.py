"""What of a procedure goes by the decision and the plastic alone, whatever the size of the job and the air.

Decisions are remembered (`rules.cache`), so many jobs ask for the same stages. What was worked out for one of
them is remembered here by the identity of pack, decision and properties, none of which change: works, dates
and money are reckoned for each job anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from planning.assumptions import idle_facts
from planning.cautions import asked_cautions
from planning.emissions.assessing import Assessed, assessed
from planning.emissions.limits import chain_of
from planning.emissions.obligations import Carried, with_obligations
from planning.materials.calling import as_called
from planning.materials.usages import Usage, usages_of
from planning.model import AskedCaution
from planning.order import ordered
from planning.parameters import Parameters, parameters_of
from rules.conditions import Value
from rules.decision import Decision
from rules.pack import Pack, Stage
from rules.same import Same

Properties = Mapping[str, Value]


@dataclass(frozen=True)
class Template:
    """The stages of `decision` in working order, by id, for a plastic with these properties.

    `stages` are those of the catalogue, with the materials that their parameters call for. `usages` are what
    they use, `assessed` says how it stands to the limits of the jurisdiction. `carried` are the cautions of
    each stage, `asked` those of the whole job. `idle` are facts that bear on no work here.
    """

    pack: Pack
    decision: Decision
    properties: Properties
    stages: Mapping[str, Stage]
    parameters: Mapping[str, Parameters]
    titles: Mapping[str, str]
    usages: tuple[Usage, ...]
    assessed: Assessed
    carried: Carried
    asked: tuple[AskedCaution, ...]
    idle: frozenset[str]


def template_of(
    pack: Pack, decision: Decision, properties: Properties, jurisdiction: str | None = None
) -> Template:
    """The template, where the shop is in this jurisdiction. None of what is given may change afterwards.

    Raises StageCircle, and KeyError for a jurisdiction that the pack lacks.
    """
    return _template(Same(pack), Same(decision), Same(properties), jurisdiction)


@lru_cache(maxsize=512)
def _template(
    same_pack: Same[Pack],
    same_decision: Same[Decision],
    same_properties: Same[Properties],
    jurisdiction: str | None,
) -> Template:
    pack, decision, properties = same_pack.it, same_decision.it, same_properties.it
    order = ordered(pack.stages, decision.stages, pack.phases)
    parameters = {name: parameters_of(pack.stages[name], decision.settings, properties) for name in order}
    stages = {name: as_called(pack.stages[name], parameters[name], pack.materials) for name in order}
    usages = usages_of(stages, parameters, pack.materials)
    held = assessed(pack, jurisdiction, tuple(usage.material.id for usage in usages), order)
    chain = chain_of(jurisdiction, pack.jurisdictions)
    asked, carried = with_obligations(decision.cautions, stages.values(), held[0], chain)
    return Template(
        pack=pack,
        decision=decision,
        properties=properties,
        stages=stages,
        parameters=parameters,
        titles={name: stage.title for name, stage in stages.items()},
        usages=usages,
        assessed=held,
        carried=carried,
        asked=asked_cautions(asked, carried, decision.stages, pack.cautions),
        idle=idle_facts(pack, order),
    )
