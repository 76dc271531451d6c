"""Simulated technicians: how many tests a way of choosing needs until it stops, and where it ends."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from rules.materials.identification.beliefs import grouped, posterior, prior_for
from rules.materials.identification.choosing import Choice, Stop, best_test, remaining_tests
from rules.materials.identification.model import Beliefs, Matter, Question, Tables

_State = tuple[str | None, frozenset[tuple[str, str]]]
"""The part and the results so far."""


@dataclass(frozen=True)
class Trial:
    """A part of a known material, and what its technician sees of it in each test that is done."""

    material: str
    part: str | None
    results: Mapping[str, str]


@dataclass(frozen=True)
class Ended:
    """How many tests were done, which share of the questions is settled, and which of it wrongly."""

    tests: int
    settled: float
    wrong: float


def trial_of(tables: Tables, material: str, part: str | None, random: Random) -> Trial:
    """A technician who sees each result as often as the tables say."""
    results = {test: rows[material].results for test, rows in tables.likelihoods.items()}
    seen = {test: random.choices(list(likely), list(likely.values()))[0] for test, likely in results.items()}
    return Trial(material, part, seen)


@dataclass
class Search:
    """Identifications with one matter; what was chosen after the same results is remembered."""

    tables: Tables
    matter: Matter
    _chosen: dict[_State, Choice | Stop] = field(default_factory=dict)

    def run(self, trial: Trial, order: Sequence[str] | None = None) -> Ended:
        """Test until nothing more is proposed: always the test proposed, or else the next one in `order`."""
        seen: dict[str, str] = {}
        while isinstance(chosen := self._next(trial.part, seen), Choice):
            left = self._left(trial.part, seen)
            test = next(test for test in order or [chosen.test] if test in left)
            seen[test] = trial.results[test]
        return self._ended(trial, seen)

    def _next(self, part: str | None, seen: Mapping[str, str]) -> Choice | Stop:
        state = (part, frozenset(seen.items()))
        if state not in self._chosen:
            beliefs, left = self._beliefs(part, seen), self._left(part, seen)
            self._chosen[state] = best_test(self.tables, beliefs, left, self.matter)
        return self._chosen[state]

    def _left(self, part: str | None, seen: Mapping[str, str]) -> list[str]:
        return remaining_tests(self.tables, seen, prior_for(self.tables, part), self.matter)

    def _ended(self, trial: Trial, seen: Mapping[str, str]) -> Ended:
        beliefs, questions = self._beliefs(trial.part, seen), self.matter.questions
        answers = {question.about: self._answer(question, beliefs) for question in questions}
        settled = [question for question in questions if answers[question.about] is not None]
        wrong = [each for each in settled if each.answers[trial.material] != answers[each.about]]
        return Ended(len(seen), len(settled) / len(questions), len(wrong) / len(questions))

    def _answer(self, question: Question, beliefs: Beliefs) -> Hashable | None:
        held = grouped((question.answers[symbol], p) for symbol, p in beliefs.items())
        answer = max(held, key=lambda each: held[each])
        return answer if held[answer] >= self.tables.agreement else None

    def _beliefs(self, part: str | None, seen: Mapping[str, str]) -> dict[str, float]:
        prior = prior_for(self.tables, part).beliefs
        return posterior(prior, (self.tables.of_result(test, result) for test, result in seen.items()))
