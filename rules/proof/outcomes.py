"""What a pack decides in every cell of a space at once: the meaning of `rules.decision` over sets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import TypeAlias

from rules.conditions import Test, Value
from rules.pack import Disposition, Pack, Rule
from rules.predicates import test_holds
from rules.proof.space import CellSet, Space, union, where_holds
from rules.vocabulary import Origin
from rules.wording import value_in_words

Subject = tuple[str, ...]
"""What rules may disagree on: ("fact", name), ("parameter", stage, name) or ("disposition",)."""

Said: TypeAlias = Value | Disposition

DISPOSITION: Subject = ("disposition",)


@dataclass(frozen=True)
class Clash:
    """Two rules that say different things of one subject in the cells of `where`."""

    subject: Subject
    rules: tuple[str, str]
    where: CellSet


@dataclass
class Outcomes:
    """Sets of cells by rule and by subject. Built layer by layer by `outcomes_of`."""

    pack: Pack
    space: Space
    fired: dict[str, CellSet] = field(default_factory=dict)
    _claims: dict[Subject, dict[str, Said]] = field(default_factory=dict)

    def stands(self, subject: Subject, rule_id: str) -> CellSet:
        """Where a rule fires and no firing rule overrides what it claims of `subject`."""
        overriding = (
            self.fired[other]
            for other in self._claims[subject]
            if rule_id in self.pack.rules[other].overrides
        )
        return self.fired[rule_id] & ~union(self.space, overriding)

    def claimed(self, subject: Subject, value: Said) -> CellSet:
        """Where a standing claim gives `subject` this value."""
        claims = self._claims.get(subject, {})
        return union(
            self.space,
            (self.stands(subject, rule_id) for rule_id, said in claims.items() if _same(said, value)),
        )

    def reasoned(self, rule_id: str) -> CellSet:
        """Where people are told the reason of a rule: it decides, and as it says is decided."""
        said = self._claims.get(DISPOSITION, {}).get(rule_id)
        if said is None:
            return self.space.empty
        return self.fired[rule_id] & self.claimed(DISPOSITION, said)

    def unclaimed(self, subject: Subject) -> CellSet:
        """The admissible cells in which no rule says anything of `subject`."""
        firing = (self.fired[rule_id] for rule_id in self._claims.get(subject, {}))
        return self.space.admissible & ~union(self.space, firing)

    def values_of(self, subject: Subject) -> tuple[Value, ...]:
        """Every value that some rule gives a parameter or fact, in no cell or many."""
        said = self._claims.get(subject, {}).values()
        return tuple(dict.fromkeys(value for value in said if not isinstance(value, Disposition)))

    def speakers(self, subject: Subject) -> tuple[str, ...]:
        """The rules that say something of a subject."""
        return tuple(self._claims.get(subject, ()))

    def claim(self, subject: Subject, rule_id: str) -> str:
        """What a rule says of `subject`, in words."""
        return value_in_words(self._claims[subject][rule_id])

    def present(self, stage: str) -> CellSet:
        """Where a stage is required."""
        return union(
            self.space,
            (self.fired[rule.id] for rule in self.pack.rules.values() if stage in rule.require),
        )

    def clashes(self) -> Iterator[Clash]:
        """Every two rules that differ on a subject in some cell, neither overriding the other."""
        for subject, claims in self._claims.items():
            for left, right in combinations(claims, 2):
                if not _same(claims[left], claims[right]):
                    where = self.stands(subject, left) & self.stands(subject, right)
                    if self.space.any(where):
                        yield Clash(subject, (left, right), where)

    def silenced(self) -> Iterator[tuple[Subject, CellSet]]:
        """Subjects on which, in some cell, every rule that fires gives way to another.

        Only where rules override one another in a circle, which the checks of a pack refuse.
        """
        for subject, claims in self._claims.items():
            standing = union(self.space, (self.stands(subject, rule_id) for rule_id in claims))
            where = self.space.admissible & ~self.unclaimed(subject) & ~standing
            if self.space.any(where):
                yield subject, where

    @cached_property
    def answered(self) -> CellSet:
        """The cells that get a decision; in the others `rules.decision` finds the pack at fault."""
        referred = self.claimed(DISPOSITION, Disposition.REFER)
        faults = [self.unclaimed(DISPOSITION)]
        faults += [clash.where for clash in self.clashes()]
        faults += [where for _, where in self.silenced()]
        faults += [self.fired[rule.id] & referred for rule in self.pack.rules.values() if rule.require]
        return self.space.admissible & ~union(self.space, faults)

    def holds(self, test: Test) -> CellSet:
        """The cells in which a test of any fact holds, derived facts of lower layers included."""
        fact = self.pack.vocabulary[test.fact]
        if fact.origin is not Origin.RULES:
            return self.space.test(test)
        subject = ("fact", test.fact)
        values = (value for value in self.values_of(subject) if test_holds(test, value))
        concluded = union(self.space, (self.claimed(subject, value) for value in values))
        assert fact.default is not None
        if test_holds(test, fact.default):
            return concluded | self.unclaimed(subject)
        return concluded

    def warned(self, caution: str) -> CellSet:
        """Where a rule or a stage that is present asks for a caution."""
        asking = (self.fired[rule.id] for rule in self.pack.rules.values() if caution in rule.cautions)
        carrying = (
            self.present(stage.id) for stage in self.pack.stages.values() if caution in stage.cautions
        )
        return union(self.space, (*asking, *carrying))

    def add(self, rule: Rule) -> None:
        """Enter a rule whose layer's facts are settled."""
        self.fired[rule.id] = where_holds(self.space, rule.when, self.holds) & self.space.admissible
        for subject, value in _claims_of(rule):
            self._claims.setdefault(subject, {})[rule.id] = value


def outcomes_of(pack: Pack, space: Space) -> Outcomes:
    """Every rule of `pack` over `space`, layer by layer."""
    outcomes = Outcomes(pack, space)
    for layer in pack.layers:
        for rule_id in layer:
            outcomes.add(pack.rules[rule_id])
    return outcomes


def _claims_of(rule: Rule) -> Iterator[tuple[Subject, Said]]:
    for fact, value in rule.conclude.items():
        yield ("fact", fact), value
    for (stage, parameter), setting in rule.settings.items():
        yield ("parameter", stage, parameter), setting
    if rule.decide:
        yield DISPOSITION, rule.decide.disposition


def _same(left: Said, right: Said) -> bool:
    return type(left) is type(right) and left == right
