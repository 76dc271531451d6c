"""How many mutants the cases, assertions and proof of a pack kill."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rules.authoring.mutation.kinds import Kind
from rules.authoring.mutation.mutants import Mutant
from rules.authoring.mutation.trial import Verdict

Judged = Sequence[tuple[Mutant, Verdict]]


@dataclass(frozen=True)
class Score:
    """What became of some mutants, by number. Equivalent ones are told apart and do not count."""

    by_cases: int
    by_assertions: int
    by_proof: int
    survived: int
    equivalent: int

    @property
    def killed(self) -> int:
        """However they were killed."""
        return self.by_cases + self.by_assertions + self.by_proof

    @property
    def counted(self) -> int:
        """Killed or survived."""
        return self.killed + self.survived

    @property
    def percentage(self) -> float:
        """Per cent of the counted ones that were killed; 100 where none counts."""
        return 100 * self.killed / self.counted if self.counted else 100.0


def score_of(verdicts: Iterable[Verdict]) -> Score:
    """The score of mutants with these verdicts."""
    listed = [*verdicts]
    return Score(
        by_cases=listed.count(Verdict.BY_CASES),
        by_assertions=listed.count(Verdict.BY_ASSERTIONS),
        by_proof=listed.count(Verdict.BY_PROOF),
        survived=listed.count(Verdict.SURVIVED),
        equivalent=listed.count(Verdict.EQUIVALENT),
    )


def by_kind(judged: Judged) -> dict[Kind, Score]:
    """The score of each kind of change that was tried at all."""
    scores = {kind: score_of(verdict for mutant, verdict in judged if mutant.kind is kind) for kind in Kind}
    return {kind: score for kind, score in scores.items() if score.counted or score.equivalent}


def survivors(judged: Judged) -> list[Mutant]:
    """The mutants that nothing noticed, by place."""
    found = (mutant for mutant, verdict in judged if verdict is Verdict.SURVIVED)
    return sorted(found, key=lambda mutant: (mutant.place, mutant.told))
