"""The tables behind an identification, as read from a pack."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rules.conditions import Value
from rules.places import NOWHERE, Place

Beliefs = Mapping[str, float]
"""Symbol of a row of the substrate table -> probability that the part is made of it."""


@dataclass(frozen=True)
class BenchTest:
    """One test at the bench: what it asks, how it is done safely, and what may come of it.

    `results` maps each possible result to what it looks like; `cautions` are ids of the pack;
    `not_on` names truth values of a line item: where one holds, the test is not to be done.
    """

    id: str
    question: str
    how: tuple[str, ...]
    safety: str
    results: Mapping[str, str]
    cautions: tuple[str, ...] = ()
    not_on: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True)
class Likelihood:
    """How probable each result of a test is on one material, and why; they sum to 1, none is 0."""

    results: Mapping[str, float]
    why: str
    source: str


@dataclass(frozen=True)
class Prior:
    """How often each material is met in parts called by one of `words`, before any test.

    `part` is the name shown; `words` are empty for the prior of any other part. `not_done` names
    the tests that are not to be done on such a part.
    """

    part: str
    words: tuple[str, ...]
    beliefs: Beliefs
    source: str
    not_done: tuple[str, ...] = ()


@dataclass(frozen=True)
class NeverDone:
    """A test that other trades know and that is not to be done here, and why; `cautions` say so."""

    test: str
    why: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Range:
    """Numbers that rules can't tell apart: from `at_least` to below `below`; None is no bound."""

    at_least: float | None
    below: float | None


Seen = Value | Range
"""A property as rules and people can tell it."""


@dataclass(frozen=True)
class Question:
    """Something that matters. Candidates with equal answers need not be told apart for its sake."""

    about: str
    answers: Mapping[str, Hashable]

    @cached_property
    def classes(self) -> NDArray[np.float64]:
        """Shape (candidates, answers): 1 where the candidate has the answer, else 0."""
        numbers: dict[Hashable, int] = {}
        own = [numbers.setdefault(answer, len(numbers)) for answer in self.answers.values()]
        return np.eye(len(numbers))[own]


@dataclass(frozen=True)
class Matter:
    """What matters of a part. By `whole`, candidates fall into groups that need not be told apart;
    `questions` are what tests are done for, one after the other or together. `facts` are those of
    the line item, where it is known.
    """

    whole: Question
    questions: tuple[Question, ...]
    facts: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True)
class Tables:
    """Everything an identification draws on, for the materials of one pack.

    `agreement` is the probability from which candidates count as agreeing; `worthwhile` that from
    which on a question is pursued: how often the tests left settle it. `marking_trust` is the
    probability that a legible marking names the material of the part it is found on. `properties`
    holds what can be told of each candidate; `questions` what matters while no line item is known,
    the whole of it first; `likelihoods` maps test -> symbol -> likelihood; the last of `priors` is
    that of any part.
    """

    agreement: float
    worthwhile: float
    marking_trust: float
    properties: Mapping[str, Mapping[str, Seen]]
    matter: Matter
    tests: Mapping[str, BenchTest]
    likelihoods: Mapping[str, Mapping[str, Likelihood]]
    priors: tuple[Prior, ...]
    never: tuple[NeverDone, ...]

    @cached_property
    def facts(self) -> tuple[str, ...]:
        """The facts that the substrate table states of every material."""
        return tuple(next(iter(self.properties.values()), {}))

    def of_result(self, test: str, result: str) -> Beliefs:
        """P(`result` of `test` | material) for every material."""
        return self._by_result[test][result]

    @cached_property
    def _by_result(self) -> Mapping[str, Mapping[str, Beliefs]]:
        return {
            test: {
                result: {symbol: row.results[result] for symbol, row in rows.items()}
                for result in self.tests[test].results
            }
            for test, rows in self.likelihoods.items()
        }

    def likelihoods_of(self, test: str) -> NDArray[np.float64]:
        """P(result | material), shape (results of the test, materials), both in their order here."""
        return self._arrays[test]

    @cached_property
    def _arrays(self) -> Mapping[str, NDArray[np.float64]]:
        return {
            test: np.array([[beliefs[symbol] for symbol in self.properties] for beliefs in results.values()])
            for test, results in self._by_result.items()
        }


@dataclass(frozen=True)
class Evidence:
    """What is known of a part: its marking as read, results by test, and what part it is."""

    marking: str | None = None
    tests: Mapping[str, str] = field(default_factory=dict)
    part: str | None = None
