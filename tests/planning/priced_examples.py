"""An invented shop's rates, needs and alternatives for the tests of costs."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from planning_examples import facts_with, make_decision, make_pack, make_stage, make_substrate

from planning.costs.model import Rates
from planning.costs.weighing import NewPart, weighed
from planning.materials.model import MaterialNeed
from planning.model import Procedure, Terms
from planning.procedure import plan
from rules.conditions import All
from rules.pack import Disposition
from rules.policies import Policy

SOURCE = "invented for a test"
NEUTRAL = Policy("neutral", "It is likelier to cost less.", SOURCE, All(()), minimum_probability_pct=50.0)


def rates(**changes: Any) -> Rates:
    given: dict[str, Any] = {
        "currency": "USD",
        "labour_per_hour": {"body": Decimal(60), "refinish": Decimal(70)},
        "replacement_part": Decimal("100.00"),
    }
    return Rates(**given | changes)


def need(material: str, **members: Any) -> MaterialNeed:
    given: dict[str, Any] = {"title": material, "kind": "consumable", "stages": (), "quantity_ml": None}
    return MaterialNeed(material=material, basis="", **given | members)


def procedure_of(
    minutes: float,
    charged: Rates | None,
    *,
    spread: float = 0.25,
    disposition: Disposition = Disposition.REPAIR,
) -> Procedure:
    """One stage of body work."""
    pack = make_pack([make_stage("work", minutes=minutes, spread=spread)])
    stages = [] if disposition is Disposition.REFER else ["work"]
    decision = make_decision(stages, disposition=disposition)
    return plan(pack, make_substrate(), facts_with(), decision, Terms(rates=charged))


def weigh(
    charged: Rates,
    *policies: Policy,
    repair_min: float = 120.0,
    paint_min: float = 60.0,
    spread: float = 0.25,
    **facts: Any,
) -> Procedure:
    """A repair of so many minutes weighed against a new part that is painted in so many."""
    procedure = procedure_of(repair_min, charged, spread=spread)
    new_part = NewPart({"supplied_as": "primed"}, procedure_of(paint_min, None, spread=spread))
    return weighed(procedure, facts, charged, new_part, policies)
