"""Why a kept procedure is as it is, by the pack it was issued under."""

from __future__ import annotations

from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import lru_cache

from api.failures import pack_fault
from api.packs.reading import kept_pack
from api.problem_types import QUERY_REFUSED
from api.problems import refused
from api.snapshot import Snapshot
from rules.decider import Decider
from rules.decision import PackFault
from rules.engines.reference import ReferenceEngine
from rules.explain import explain, part_of
from rules.pack import Pack
from rules.proof.change import Changes
from schemas.explanation import explanation_of
from schemas.faults import Fault
from schemas.procedure.document import Document
from storage.records import KeptProcedure


def explained(kept: KeptProcedure, snapshot: Snapshot, rule: str | None) -> Document:
    """The explanation of a procedure; with `rule`, of this rule's part in it.

    Raises Problem for a rule that the pack does not have, and for a pack that gives no decision.
    """
    decider = _decider_of(kept, snapshot)
    pack = decider.pack
    if rule is not None and rule not in pack.rules:
        near = tuple(get_close_matches(rule[:60], pack.rules, n=5))
        fault = Fault("rule", f"is no rule of the pack '{pack.name}' {pack.version}", rule, near)
        raise refused(QUERY_REFUSED, [fault], "parameter")
    try:
        decision = decider.decide(kept.facts)
    except PackFault as fault:
        raise pack_fault(pack, str(fault), fault.rules) from fault
    explanation = explain(pack, kept.facts, decision)
    if rule is not None:
        substrate = pack.substrates[kept.document["material"]["symbol"]]
        changes = _changes(_ByDigest(pack.digest, pack))
        silent = rule not in decision.fired
        change = changes.smallest(rule, substrate, kept.facts) if silent else None
        explanation = part_of(rule, explanation, change)
    return explanation_of(explanation, kept.id, pack)


@dataclass(frozen=True)
class _ByDigest:
    """A pack, told from others by its digest."""

    digest: str
    pack: Pack = field(compare=False)


@lru_cache(maxsize=2)
def _changes(of: _ByDigest) -> Changes:
    """The same ones for all requests that ask about one pack: drawing their diagrams takes a while."""
    return Changes(of.pack)


def _decider_of(kept: KeptProcedure, snapshot: Snapshot) -> Decider:
    if kept.pack_digest == snapshot.pack.digest:
        return snapshot.decider
    pack = kept_pack(snapshot.store, kept.pack_digest)
    if pack is None:
        raise LookupError(f"the pack {kept.pack_digest} of {kept.id} cannot be read any more")
    return Decider(pack, ReferenceEngine(pack))
