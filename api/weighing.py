"""A repair weighed against the same part bought new: the rules are asked a second time, for the new part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from planning.costs.model import Rates
from planning.costs.new_part import new_part_facts
from planning.costs.weighing import NewPart, can_be_weighed, not_weighed, weighed
from planning.learning.model import Learned
from planning.model import Procedure, Terms
from planning.procedure import plan
from planning.timing.refusals import CalendarTooNarrow
from planning.timing.temporal import InconsistentWindows
from rules.decider import Decider
from rules.decision import Decision
from rules.intake import CompleteFacts, FactsRefused
from rules.pack import Pack, Substrate


def with_advice(
    procedure: Procedure,
    decider: Decider,
    substrate: Substrate,
    facts: CompleteFacts,
    decision: Decision,
    terms: Terms,
    learned: Mapping[str, Learned] | None = None,
) -> Procedure:
    """The procedure with its alternative and an advice where a repair stands against a price; else as it is.

    Where nothing can be decided or scheduled for the new part, the advice says so, and advises nothing.
    """
    pack, rates = decider.pack, terms.rates
    if rates is None or not can_be_weighed(pack, procedure, facts.values, rates):
        return procedure
    try:
        new = new_part_facts(pack, substrate, facts, rates.replacement_supplied_as)
        painted = _painted(pack, substrate, new, decider.decide(new.values), terms, rates, learned)
    except FactsRefused as refused:
        return not_weighed(procedure, f"The line item does not say enough of a new part. {refused}.")
    except (CalendarTooNarrow, InconsistentWindows) as error:
        return not_weighed(procedure, f"The new part cannot be scheduled: {error}.")
    known = {**facts.values, **decision.derived}
    new_part = NewPart(new.values, painted)
    return weighed(procedure, known, rates, new_part, pack.policies.values(), learned)


def _painted(
    pack: Pack,
    substrate: Substrate,
    new: CompleteFacts,
    decision: Decision,
    terms: Terms,
    rates: Rates,
    learned: Mapping[str, Learned] | None,
) -> Procedure:
    """What is done with the new part, from the day on which it comes."""
    lead = timedelta(days=rates.replacement_lead_days or 0)
    start_at = terms.start_at and terms.start_at + lead
    return plan(pack, substrate, new, decision, replace(terms, rates=None, start_at=start_at), learned)
