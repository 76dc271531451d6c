"""Why a kept procedure is as it is, by the pack it was issued under."""

from __future__ import annotations

from difflib import get_close_matches

from api.failures import pack_fault
from api.problem_types import QUERY_REFUSED
from api.problems import refused
from api.snapshot import Snapshot
from rules.decider import Decider
from rules.decision import PackFault
from rules.engines.reference import ReferenceEngine
from rules.explain import explain
from rules.loading import check_files
from rules.pack import Pack
from schemas.explanation import explanation_of
from schemas.faults import Fault
from schemas.procedure import Document
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
    return explanation_of(explain(pack, kept.facts, decision), kept.id, pack, rule)


def _decider_of(kept: KeptProcedure, snapshot: Snapshot) -> Decider:
    if kept.pack_digest == snapshot.pack.digest:
        return snapshot.decider
    pack = _pack_of(kept, snapshot)
    return Decider(pack, ReferenceEngine(pack))


def _pack_of(kept: KeptProcedure, snapshot: Snapshot) -> Pack:
    """The pack as it was. What checks have learnt to refuse since then does not matter here."""
    files = snapshot.store.pack_files(kept.pack_digest)
    pack = None if files is None else check_files(list(files.values())).pack
    if pack is None:
        raise LookupError(f"the pack {kept.pack_digest} of {kept.id} cannot be read any more")
    return pack
