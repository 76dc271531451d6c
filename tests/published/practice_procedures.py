"""Procedures of the base pack to hold against what the trade knows."""

from collections.abc import Mapping
from functools import cache

from plastics_data import base_pack

from planning.model import PlannedStage, Procedure, Terms
from planning.procedure import plan
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import complete

CRACK = {"damage_type": "crack", "damage_length_mm": 80, "backside_access": True}
SOUND = {"damage_type": "none"}
FLEXIBLE, RIGID, THERMOSET = "TPO", "ABS", "UP-GF"


@cache
def _decider() -> Decider:
    return Decider(base_pack(), ReferenceEngine(base_pack()))


def procedure(
    material: str, damage: Mapping[str, object] = CRACK, condition: str = "factory_finish", **given: object
) -> Procedure:
    """The procedure for a material, a damage and whatever else is given; all else at its default."""
    substrate = base_pack().substrates[material]
    facts = complete(base_pack(), substrate, {"condition": condition, **damage, **given})
    return plan(base_pack(), substrate, facts, _decider().decide(facts.values), Terms())


def order_of(answer: Procedure) -> list[str]:
    """The names of the stages in working order."""
    return [planned.stage for planned in answer.stages]


def stage_of(answer: Procedure, name: str) -> PlannedStage:
    """The one stage of that name."""
    (planned,) = (each for each in answer.stages if each.stage == name)
    return planned


def told(stage: PlannedStage) -> str:
    """All that the technician reads of a stage."""
    check = stage.check
    checked = (check.method, check.accept, check.otherwise) if check else ()
    return " ".join((*stage.instructions, *checked))


def in_turn(answer: Procedure, *names: str) -> bool:
    """Whether these stages are all there, in this order, others between."""
    return [name for name in order_of(answer) if name in names] == list(names)
