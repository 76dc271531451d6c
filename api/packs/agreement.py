"""The three meanings of a pack held against each other: reference, engine, and vectors of bits.

The cells are drawn at random, always the same ones for the same pack; numbers lie on the cut points and
between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from rules.conditions import OneOf, Value
from rules.decider import Decider
from rules.decision import Decision, PackFault
from rules.engines import Engine
from rules.engines.reference import ReferenceEngine
from rules.pack import Disposition, Pack
from rules.predicates import holds
from rules.proof.outcomes import DISPOSITION, Outcomes, outcomes_of
from rules.proof.sample import Sample, sample_of
from rules.vocabulary import Fact, Kind, Origin

BITS = "bit vectors"

Facts = Mapping[str, Value]
Truths = NDArray[np.bool_]


@dataclass(frozen=True)
class Difference:
    """Facts on which an engine says something else than the reference."""

    engine: str
    facts: Facts
    reference: str
    said: str


def random_facts(pack: Pack, count: int) -> list[Facts]:
    """`count` complete sets of facts that a line item can lead to."""
    draw = Random(pack.digest)
    substrates = tuple(pack.substrates.values())
    facts = sorted(pack.vocabulary.from_origin(Origin.LINE_ITEM), key=lambda fact: bool(fact.applies_when))
    return [_drawn(draw, dict(draw.choice(substrates).properties), facts) for _ in range(count)]


def differences(pack: Pack, engine: Engine, listed: Sequence[Facts]) -> Iterator[Difference]:
    """Where the engine, or the bit vectors, decide otherwise than the reference."""
    reference, other = Decider(pack, ReferenceEngine(pack)), Decider(pack, engine)
    vectors = _Vectors(pack, listed)
    for number, facts in enumerate(listed):
        expected, said = _decided(reference, facts), _decided(other, facts)
        if expected != said:
            yield Difference(engine.name, facts, _in_words(expected), _in_words(said))
        if isinstance(expected, Decision):
            told = vectors.dissent(number, expected)
            if told is not None:
                yield Difference(BITS, facts, _in_words(expected), told)


class _Vectors:
    """The decisions on all listed facts at once."""

    def __init__(self, pack: Pack, listed: Sequence[Facts]) -> None:
        sample = sample_of(pack, list(listed))
        outcomes = outcomes_of(pack, sample)
        self._fired = {rule: sample.unpacked(where) for rule, where in outcomes.fired.items()}
        self._derived = _derived(pack, outcomes, sample)
        self._dispositions = {
            each: sample.unpacked(outcomes.claimed(DISPOSITION, each)) for each in Disposition
        }

    def dissent(self, number: int, decision: Decision) -> str | None:
        """What the vectors say where it is not what `decision` says; None where they agree."""
        fired = {rule for rule, cells in self._fired.items() if cells[number]}
        if fired != set(decision.fired):
            return "other rules fire: " + ", ".join(sorted(fired.symmetric_difference(decision.fired)))
        for (fact, value), cells in self._derived.items():
            if cells[number] != (decision.derived[fact] == value):
                return f"the fact '{fact}' comes out otherwise"
        if not self._dispositions[decision.disposition][number]:
            return "the disposition comes out otherwise"
        return None


def _derived(pack: Pack, outcomes: Outcomes, sample: Sample) -> dict[tuple[str, Value], Truths]:
    """For each value of each derived fact, where it is concluded or stands by default."""
    return {
        (fact.name, value): sample.unpacked(outcomes.holds(OneOf(fact.name, (value,))))
        for fact in pack.vocabulary.from_origin(Origin.RULES)
        if fact.kind is not Kind.NUMBER  # rules conclude numbers that are no cell's representative
        for value in fact.domain
    }


def _decided(decider: Decider, facts: Facts) -> Decision | str:
    try:
        return decider.decide(facts)
    except PackFault as fault:
        return str(fault)


def _in_words(decided: Decision | str) -> str:
    if isinstance(decided, str):
        return decided
    return f"{decided.disposition.value}, by the rules {', '.join(decided.fired)}"


def _drawn(draw: Random, values: dict[str, Value], facts: Sequence[Fact]) -> Facts:
    for fact in facts:
        applies = fact.applies_when is None or holds(fact.applies_when, values)
        if not applies and fact.otherwise is not None:
            values[fact.name] = fact.otherwise
        else:
            values[fact.name] = _value(draw, fact)
    return values


def _value(draw: Random, fact: Fact) -> Value:
    """A value that a line item can state, every cell as likely as another."""
    if fact.kind is not Kind.NUMBER:
        return draw.choice(tuple(fact.values) or (False, True))
    edges = (fact.minimum, *fact.cut_points, fact.maximum)
    cell = draw.randrange(len(edges) - 1)
    inside = draw.uniform(edges[cell], edges[cell + 1])
    return draw.choice((edges[cell], inside if fact.cell_of(inside) == cell else edges[cell]))
