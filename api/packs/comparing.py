"""What is different between two answers to the same facts, stage by stage."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from api.packs.outcomes import Answered, Outcome, Outcomes, Refused
from rules.pack import Pack
from storage.records import Situation, canonical_text


@dataclass(frozen=True)
class MemberChange:
    """A member or parameter of a stage that both answers have; values as canonical JSON, None: absent."""

    stage: str
    member: str
    before: str | None
    after: str | None


@dataclass(frozen=True)
class Difference:
    """What one answer has and the other has not. `refused` says why there is no answer after.

    `moved` are stages of both that now come elsewhere in the order.
    """

    disposition: tuple[str, str | None]
    refused: str | None = None
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    changed: tuple[MemberChange, ...] = ()
    cautions_added: tuple[str, ...] = ()
    cautions_removed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Compared:
    """One situation under the pack of its procedures and under another; None: no answer there.

    `difference` None: nothing changes.
    """

    situation: Situation
    before: Answered | None
    after: Answered | None
    difference: Difference | None


class Comparison:
    """Situations held against one pack, the candidate. `pack_of` reads the packs of the procedures."""

    def __init__(self, candidate: Pack, pack_of: Callable[[str], Pack | None]) -> None:
        self.candidate = candidate
        self._pack_of = pack_of
        self._outcomes: dict[str, Outcomes | None] = {candidate.digest: Outcomes(candidate)}
        # Two answers are one and the same object for all facts that lead to one decision.
        self._differences: dict[tuple[int, int], tuple[Outcome, Outcome, Difference | None]] = {}
        self._changed: dict[tuple[str, str], bool] = {}

    def compare(self, situation: Situation) -> Compared:
        """A situation whose pack cannot be read, or gives no answer any more, has none before."""
        before, _ = self._answer(situation.pack_digest, situation)
        after, refused = self._answer(self.candidate.digest, situation)
        if before is None:
            return Compared(situation, None, after, None)
        if after is None:
            return Compared(
                situation, before, None, Difference((before.outcome.disposition, None), refused=refused)
            )
        return Compared(situation, before, after, self._difference(before.outcome, after.outcome))

    def changed(self, situations: Sequence[Situation]) -> list[Situation]:
        """Those in which the candidate gives another procedure, or none; also where nobody can tell.

        What was asked once is remembered.
        """
        return [situation for situation in situations if self._is_changed(situation)]

    def _is_changed(self, situation: Situation) -> bool:
        if situation.pack_digest == self.candidate.digest:
            return False
        key = (situation.pack_digest, situation.stated.key)
        if key not in self._changed:
            compared = self.compare(situation)
            self._changed[key] = compared.before is None or compared.difference is not None
        return self._changed[key]

    def _answer(self, digest: str, situation: Situation) -> tuple[Answered | None, str | None]:
        if digest not in self._outcomes:
            pack = self._pack_of(digest)
            self._outcomes[digest] = None if pack is None else Outcomes(pack)
        outcomes = self._outcomes[digest]
        if outcomes is None:
            return None, None
        try:
            return outcomes.answer(situation.stated), None
        except Refused as refused:
            return None, str(refused)

    def _difference(self, before: Outcome, after: Outcome) -> Difference | None:
        key = (id(before), id(after))
        if key not in self._differences:
            self._differences[key] = before, after, difference(before, after)
        return self._differences[key][2]


def difference(before: Outcome, after: Outcome) -> Difference | None:
    """What is different; None where nothing is."""
    if before == after and list(before.stages) == list(after.stages):
        return None
    both = [name for name in before.stages if name in after.stages]
    return Difference(
        disposition=(before.disposition, after.disposition),
        added=tuple(name for name in after.stages if name not in before.stages),
        removed=tuple(name for name in before.stages if name not in after.stages),
        moved=_moved(both, [name for name in after.stages if name in before.stages]),
        changed=tuple(change for name in both for change in _changes(name, before, after)),
        cautions_added=tuple(sorted(after.cautions - before.cautions)),
        cautions_removed=tuple(sorted(before.cautions - after.cautions)),
    )


def _moved(before: Sequence[str], after: Sequence[str]) -> tuple[str, ...]:
    blocks = SequenceMatcher(a=before, b=after, autojunk=False).get_matching_blocks()
    stayed = {name for block in blocks for name in before[block.a : block.a + block.size]}
    return tuple(name for name in after if name not in stayed)


def _changes(stage: str, before: Outcome, after: Outcome) -> Iterator[MemberChange]:
    old, new = before.stages[stage], after.stages[stage]
    for member in _names(old, new):
        if old.get(member) != new.get(member):
            yield MemberChange(stage, member, _text(old, member), _text(new, member))


def _names(old: Iterable[str], new: Iterable[str]) -> Iterable[str]:
    return dict.fromkeys([*old, *new])


def _text(members: Any, member: str) -> str | None:
    return canonical_text(members[member]) if member in members else None
