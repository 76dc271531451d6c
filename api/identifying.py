"""What a part is made of, weighed by what matters to its line item where one is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from api.issuing import learned_by_shop
from api.problem_types import EVIDENCE_REFUSED, IDENTIFICATION_UNAVAILABLE
from api.problems import Problem, refused
from api.snapshot import Snapshot
from planning.extra import extra
from planning.learning.model import Learned
from planning.model import Procedure, Terms
from planning.procedure import plan
from rules.decision import Decision
from rules.intake import CompleteFacts
from rules.materials.identification.identify import Identification, faults_of, identify
from rules.materials.identification.model import Evidence, Matter, Tables
from rules.materials.identification.questions import of_decisions
from rules.materials.resolve import UNKNOWN, MaterialUnknown, resolve_all
from rules.pack import Pack
from schemas.faults import Fault, pointer
from schemas.identification import Doubt, identification_of
from schemas.identification_request import evidence_of, facts_with, states_line_item
from schemas.line_item.body import Body
from schemas.procedure.document import Document


@dataclass(frozen=True)
class _Decided:
    """The facts of a line item and what is decided on them, by the material the part may be made of."""

    facts: dict[str, CompleteFacts]
    decisions: dict[str, Decision]


def identified(body: Body, snapshot: Snapshot) -> Document:
    """The identification of a part. Raises Problem, FactsRefused, PackFault and what planning raises."""
    pack, tables = snapshot.pack, snapshot.tables
    if tables is None:
        told = f"the pack '{pack.name}' {pack.version} says nothing of how to identify a material"
        raise Problem(IDENTIFICATION_UNAVAILABLE, told)
    evidence = evidence_of(body)
    faults = tuple(_faults(evidence, pack, tables))
    if faults:
        raise refused(EVIDENCE_REFUSED, faults)
    decided = _decided(body, snapshot) if states_line_item(body) else None
    matter = _matter(decided, pack, tables) if decided else None
    found = identify(pack, tables, evidence, matter)
    doubt = _doubt(found, decided, snapshot) if decided and found.differs else None
    return identification_of(found, pack, tables, decided.decisions if decided else None, doubt)


def _decided(body: Body, snapshot: Snapshot) -> _Decided:
    facts = {symbol: facts_with(body, snapshot.pack, row) for symbol, row in snapshot.pack.substrates.items()}
    return _Decided(facts, {symbol: snapshot.decider.decide(each.values) for symbol, each in facts.items()})


def _matter(decided: _Decided, pack: Pack, tables: Tables) -> Matter:
    decisions = {symbol: decided.decisions[symbol] for symbol in tables.properties}
    return of_decisions(pack, decided.facts[next(iter(decisions))].values, decisions)


def _faults(evidence: Evidence, pack: Pack, tables: Tables) -> Iterator[Fault]:
    if evidence.marking is not None:
        try:
            resolve_all(pack, evidence.marking)
        except MaterialUnknown as error:
            yield Fault("/marking", error.detail, error.text, error.suggestions)
    for fault in faults_of(tables, evidence.tests):
        yield Fault(pointer("/tests", fault.test), fault.detail, fault.value, fault.accepted)


def _doubt(found: Identification, decided: _Decided, snapshot: Snapshot) -> Doubt | None:
    """What the procedure for an unknown material costs beyond that of the likeliest group."""
    pack = snapshot.pack
    if UNKNOWN not in pack.substrates:
        return None
    likeliest, learned = found.groups[0].materials[0], learned_by_shop(snapshot)
    cautious, known = (_procedure(symbol, decided, pack, learned) for symbol in (UNKNOWN, likeliest))
    return Doubt(likeliest, cautious.disposition, known.disposition, extra(cautious, known))


def _procedure(symbol: str, decided: _Decided, pack: Pack, learned: Mapping[str, Learned]) -> Procedure:
    row, facts, decision = pack.substrates[symbol], decided.facts[symbol], decided.decisions[symbol]
    return plan(pack, row, facts, decision, Terms(), learned)
