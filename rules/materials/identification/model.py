"""The tables behind an identification, as read from a pack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from rules.conditions import Value
from rules.places import NOWHERE, Place

Beliefs = Mapping[str, float]
"""Symbol of a row of the substrate table -> probability that the part is made of it."""


@dataclass(frozen=True)
class BenchTest:
    """One test at the bench: what it asks, how it is done safely, and what may come of it.

    `results` maps each possible result to what it looks like; `cautions` are ids of the pack.
    """

    id: str
    question: str
    how: tuple[str, ...]
    safety: str
    results: Mapping[str, str]
    cautions: tuple[str, ...] = ()
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

    `part` is the name shown; `words` are empty for the prior of any other part.
    """

    part: str
    words: tuple[str, ...]
    beliefs: Beliefs
    source: str


@dataclass(frozen=True)
class NeverDone:
    """A test that other trades know and that is not to be done here, and why; `cautions` say so."""

    test: str
    why: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tables:
    """Everything an identification draws on, for the materials of one pack.

    `agreement` is the probability from which candidates count as agreeing on a fact;
    `worthwhile_bits` the least expected gain for which a test is proposed; `marking_trust` the
    probability that a legible marking names the material of the part it is found on.
    `properties` holds what rules can see of each candidate; `likelihoods` maps test -> symbol ->
    likelihood; the last of `priors` is that of any part.
    """

    agreement: float
    worthwhile_bits: float
    marking_trust: float
    properties: Mapping[str, Mapping[str, Value]]
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

    @cached_property
    def classes(self) -> Mapping[str, int]:
        """For each material the number of its class: materials with equal properties share one."""
        numbers: dict[frozenset[tuple[str, Value]], int] = {}
        return {
            symbol: numbers.setdefault(frozenset(seen.items()), len(numbers))
            for symbol, seen in self.properties.items()
        }


@dataclass(frozen=True)
class Evidence:
    """What is known of a part: its marking as read, results by test, and what part it is."""

    marking: str | None = None
    tests: Mapping[str, str] = field(default_factory=dict)
    part: str | None = None
