"""One request, end to end: facts become a decision, a decision a procedure, which is kept and answered."""

from __future__ import annotations

from collections.abc import Mapping

from api.actual_documents import spreads_of
from api.running.metrics import metrics_of
from api.running.telemetry import step
from api.shops import current_shop
from api.snapshot import Snapshot
from api.weighing import with_advice
from planning.learning.model import Learned
from planning.procedure import plan
from rules.decider import Decider
from rules.materials.resolve import resolve_with_notes
from rules.pack import Pack
from schemas.line_item.body import Body
from schemas.line_item.facts import complete_facts, facts_given
from schemas.line_item.terms import terms_of
from schemas.procedure.document import document_of
from storage.records import KeptProcedure, StatedFacts
from storage.store import Answers


def issue(
    line_item: Body, snapshot: Snapshot, dry_run: bool = False, answers: Answers | None = None
) -> KeptProcedure:
    """The procedure for a line item, kept with its `answers`; as `dry_run` the same one, and nothing is kept.

    Raises what `issued` does, and StoreUnavailable.
    """
    learned = learned_by_shop(snapshot)
    procedure = issued(line_item, snapshot.decider, learned)
    metrics_of().note_decision(procedure.document["disposition"])
    if dry_run:
        return procedure
    stated = stated_by(line_item, snapshot.pack, procedure)
    with step("storing"):
        return snapshot.store.keep_procedure(current_shop(), procedure, stated, answers)


def learned_by_shop(snapshot: Snapshot) -> Mapping[str, Learned]:
    """What the finished jobs of the shop that asks say, by stage. Raises StoreUnavailable."""
    return snapshot.store.estimates.learned(current_shop(), spreads_of(snapshot.pack))


def issued(line_item: Body, decider: Decider, learned: Mapping[str, Learned] | None = None) -> KeptProcedure:
    """The procedure for a line item, not kept yet; `learned` is what the shop's finished jobs say.

    Raises MaterialUnknown, FactsRefused, CalendarTooNarrow, PackFault, StageCircle and InconsistentWindows.
    """
    pack = decider.pack
    with step("deciding"):
        found = resolve_with_notes(pack, line_item["part"]["material"])
        facts = complete_facts(line_item, pack, found.substrate)
        decision, terms = decider.decide(facts.values), terms_of(line_item)
    with step("planning"):
        procedure = plan(pack, found.substrate, facts, decision, terms, learned)
        procedure = with_advice(procedure, decider, found.substrate, facts, decision, terms, learned)
        document = document_of(procedure, line_item, pack, found.substrate, facts.values, found.notes)
    return KeptProcedure(
        id=document["id"],
        reference=line_item["line_item"]["reference"],
        pack_digest=pack.digest,
        document=document,
        facts=facts.values,
    )


def stated_by(line_item: Body, pack: Pack, procedure: KeptProcedure) -> StatedFacts:
    """What the line item says itself, so that another pack can be asked the same later."""
    given = {name: procedure.facts[name] for name in facts_given(line_item, pack)}
    return StatedFacts(line_item["part"]["material"], given)
