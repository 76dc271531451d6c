"""One request, end to end: facts become a decision, a decision a procedure, which is kept and answered."""

from __future__ import annotations

from api.snapshot import Snapshot
from planning.procedure import plan
from rules.intake import CompleteFacts
from rules.materials.resolve import resolve_with_notes
from rules.pack import Pack
from schemas.line_item.body import Body
from schemas.line_item.facts import complete_facts, facts_given
from schemas.line_item.terms import terms_of
from schemas.procedure.document import document_of
from storage.records import KeptProcedure, StatedFacts


def issue(line_item: Body, snapshot: Snapshot) -> KeptProcedure:
    """The procedure for a line item, kept.

    Raises MaterialUnknown, FactsRefused, PackFault, StageCircle, InconsistentWindows and StoreUnavailable.
    """
    pack = snapshot.pack
    found = resolve_with_notes(pack, line_item["part"]["material"])
    facts = complete_facts(line_item, pack, found.substrate)
    decision = snapshot.decider.decide(facts.values)
    procedure = plan(pack, found.substrate, facts, decision, terms_of(line_item))
    document = document_of(procedure, line_item, pack, found.substrate, facts.values, found.notes)
    return snapshot.store.keep_procedure(
        KeptProcedure(
            id=document["id"],
            reference=line_item["line_item"]["reference"],
            pack_digest=pack.digest,
            document=document,
            facts=facts.values,
        ),
        _stated(line_item, pack, facts),
    )


def _stated(line_item: Body, pack: Pack, facts: CompleteFacts) -> StatedFacts:
    """What the line item says itself, so that another pack can be asked the same later."""
    given = {name: facts.values[name] for name in facts_given(line_item, pack)}
    return StatedFacts(line_item["part"]["material"], given)
