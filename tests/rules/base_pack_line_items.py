"""The base pack, random line items for it, and the procedures it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from hypothesis import strategies as st

from planning.model import Procedure, Terms
from planning.procedure import plan
from rules.conditions import Value
from rules.decider import Decider
from rules.decision import Decision
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.loading import BASE_PACK, Checked, check_folder
from rules.pack import Pack, Stage, Substrate
from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin


@dataclass(frozen=True)
class Answer:
    """What was asked, in complete facts, and what was answered."""

    substrate: Substrate
    facts: Mapping[str, Value]
    decision: Decision
    procedure: Procedure

    @property
    def stages(self) -> list[Stage]:
        """The stages of the procedure as the catalogue has them, in working order."""
        return [base_pack().stages[planned.stage] for planned in self.procedure.stages]

    @property
    def order(self) -> list[str]:
        """The names of the stages in working order."""
        return [planned.stage for planned in self.procedure.stages]

    def parameter(self, stage: str, name: str) -> Value:
        """A parameter of a stage that is in the procedure."""
        (planned,) = (each for each in self.procedure.stages if each.stage == stage)
        return planned.parameters[name]


@cache
def checked_base_pack() -> Checked:
    return check_folder(BASE_PACK)


def base_pack() -> Pack:
    pack = checked_base_pack().pack
    assert pack is not None
    return pack


@cache
def _decider() -> Decider:
    return Decider(base_pack(), ReferenceEngine(base_pack()))


def decided(material: str, given: Mapping[str, object]) -> tuple[Decision, Mapping[str, Value]]:
    """The decision on the facts given and on the defaults of the others, and all those facts."""
    facts = complete(base_pack(), base_pack().substrates[material], given).values
    return _decider().decide(facts), facts


def answer(material: str, **given: object) -> Answer:
    """The procedure for a row of the substrate table and the facts given."""
    substrate = base_pack().substrates[material]
    facts = complete(base_pack(), substrate, given)
    decision = _decider().decide(facts.values)
    procedure = plan(base_pack(), substrate, facts, decision, Terms())
    return Answer(substrate, facts.values, decision, procedure)


@st.composite
def answers(draw: st.DrawFn) -> Answer:
    """The procedure for any line item that can be stated. Features are rare, or most would be referred."""
    substrate = draw(st.sampled_from(sorted(base_pack().substrates.values(), key=lambda row: row.symbol)))
    facts: dict[str, Value] = dict(substrate.properties)
    given: dict[str, Value] = {}
    declared = base_pack().vocabulary.from_origin(Origin.LINE_ITEM)
    for fact in sorted(declared, key=lambda fact: fact.applies_when is not None):
        if fact.applies_when is not None and not holds(fact.applies_when, facts):
            assert fact.otherwise is not None
            facts[fact.name] = fact.otherwise
        else:
            given[fact.name] = facts[fact.name] = draw(_values_of(fact))
    return answer(substrate.symbol, **given)


def _values_of(fact: Fact) -> st.SearchStrategy[Value]:
    if fact.kind is Kind.NUMBER:
        edges = [*fact.cut_points, fact.maximum]
        usual = [] if fact.default is None else [fact.default] * len(edges)
        return st.sampled_from([*usual, *edges]) | st.floats(
            fact.minimum, fact.maximum, allow_subnormal=False
        )
    if fact.kind is Kind.BOOLEAN and (fact.given_as or "").startswith("/part/features/"):
        return st.integers(0, 15).map(lambda number: number == 15)
    return st.sampled_from([False, True] if fact.kind is Kind.BOOLEAN else list(fact.values))
