"""Plants mistakes into the base pack, one at a time, and tells by what each is found.

    python tests/rules/seeded_faults.py [--faults 100] [--seed 1]

plants so many, kinds in turn, picked at random; `--faults 0` plants every one there is. Those that
leave every answer as it is are no faults: they are told apart, and others are picked instead.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))

from seeded_kinds import KINDS, plantings
from seeded_plantings import Planting

from planning.order import ordered
from planning.timing.keeping import why_not_kept
from rules.cases import failures, run_cases
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, check_files, check_folder
from rules.pack import Disposition, Pack
from rules.proof.domain import Domain, domain_of
from rules.proof.fault import Fault
from rules.proof.outcomes import DISPOSITION, Outcomes, outcomes_of
from rules.proof.parameters import values_of
from rules.proof.proving import prove
from rules.proof.sequence import earlier_stages
from rules.proof.space import CellSet
from rules.vocabulary import Origin


@dataclass(frozen=True)
class Found:
    """By what a mistake is found: findings of the check, failed cases, faults of the proof.

    `pack` is the pack with the mistake, None where none can be built.
    """

    planting: Planting
    pack: Pack | None
    check: tuple[str, ...] = ()
    cases: tuple[str, ...] = ()
    proof: tuple[Fault, ...] = ()

    @property
    def by(self) -> tuple[str, ...]:
        found = {"check": self.check, "cases": self.cases, "proof": self.proof}
        return tuple(name for name, what in found.items() if what)

    @property
    def witness(self) -> str:
        """The smallest thing that shows the mistake."""
        for fault in self.proof:
            if fault.witness is not None:
                return f"{fault.code} at {fault.witness.in_words()}"
        told = [*self.check, *self.cases, *(f"{fault.code} {fault.message}" for fault in self.proof)]
        return told[0][:100] if told else ""


def found(planting: Planting) -> Found:
    """Check, then cases and proof, as an admin would run them."""
    checked = check_files([planting.files()])
    if checked.pack is None or checked.findings:
        told = tuple(f"{each.code} {each.message}" for each in checked.findings)
        return Found(planting, checked.pack, check=told)
    pack = checked.pack
    results = run_cases(pack, checked.cases, Decider(pack, ReferenceEngine(pack)), _in_order)
    failed = tuple(each.message for each in failures(pack, results))
    proof = prove(pack, checked.assertions, partial(why_not_kept, pack))
    return Found(planting, pack, cases=failed, proof=proof.faults)


def seeded(seed: int) -> Iterator[Planting]:
    """Every mistake in a random order, kinds in turn, none twice."""
    random = Random(seed)
    waiting = {kind: random.sample(plantings(kind), len(plantings(kind))) for kind in KINDS}
    while any(waiting.values()):
        yield from (ways.pop() for ways in waiting.values() if ways)


def faults(seed: int) -> Iterator[Found]:
    """What is found of every mistake that changes an answer, or is found without changing one."""
    for each in map(found, seeded(seed)):
        if each.by or not changes_nothing(each.pack):
            yield each


def changes_nothing(pack: Pack | None) -> bool:
    """Whether a pack answers all that the base pack answers, and just so.

    The disposition and its reasons, stages, parameters and cautions of every cell, and which of two
    stages that can meet comes first; the catalogue apart from `after`.
    """
    base, domain, answers = _base()
    if pack is None or _declared(pack) != _declared(base):
        return False
    return answers == _answers(outcomes_of(pack, domain), domain)


def _declared(pack: Pack) -> object:
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    return facts, {name: replace(stage, after=()) for name, stage in pack.stages.items()}, pack.substrates


def _answers(outcomes: Outcomes, domain: Domain) -> Mapping[object, object]:
    pack = outcomes.pack
    present = {name: outcomes.present(name) for name in pack.stages}
    answers: dict[object, object] = {each: outcomes.claimed(DISPOSITION, each) for each in Disposition}
    answers |= {("reason", text): where for text, where in _reasons(outcomes).items()}
    answers |= {("caution", name): outcomes.warned(name) for name in pack.cautions}
    answers |= {("stage", name): where for name, where in present.items()}
    for stage in pack.stages.values():
        for parameter in {
            name for rule in pack.rules.values() for at, name in rule.settings if at == stage.id
        }:
            for value, where in values_of(outcomes, domain, stage, parameter):
                if domain.any(where & present[stage.id]):
                    answers["parameter", stage.id, parameter, value] = where & present[stage.id]
    earlier = earlier_stages(pack.stages)
    answers["order"] = {
        (first, last)
        for last, before in earlier.items()
        for first in before
        if domain.any(present[first] & present[last])
    }
    return answers


def _reasons(outcomes: Outcomes) -> dict[str, CellSet]:
    told: dict[str, CellSet] = {}
    for rule in outcomes.pack.rules.values():
        if rule.decide:
            agreed = outcomes.fired[rule.id] & outcomes.claimed(DISPOSITION, rule.decide.disposition)
            told[rule.decide.reason] = told.get(rule.decide.reason, outcomes.space.empty) | agreed
    return told


@cache
def _base() -> tuple[Pack, Domain, Mapping[object, object]]:
    pack = check_folder(BASE_PACK).pack
    assert pack is not None
    domain = domain_of(pack)
    return pack, domain, _answers(outcomes_of(pack, domain), domain)


def _in_order(pack: Pack, stages: object) -> tuple[str, ...]:
    return ordered(pack.stages, stages, pack.phases)  # type: ignore[arg-type]


def main() -> int:
    """Plant, and tell by kind what finds how many; 1 where one is not found."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=100, help="how many; 0: every one there is")
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    kinds: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS}
    missed: list[Found] = []
    planted = 0
    for each in map(found, seeded(wanted.seed)):
        count = kinds[each.planting.kind]
        if not each.by and changes_nothing(each.pack):
            count["no fault"] += 1
            continue
        planted += 1
        count.update(["planted", *each.by])
        missed += [] if each.by else [each]
        print(f"{each.planting.told}\n    {', '.join(each.by) or 'NOT FOUND'}: {each.witness}", flush=True)
        if planted == wanted.faults:
            break
    columns = ("planted", "check", "cases", "proof", "no fault")
    print(f"\n{'kind':42}" + "".join(f"{column:>10}" for column in columns))
    for kind, count in kinds.items():
        print(f"{kind:42}" + "".join(f"{count[column]:10}" for column in columns))
    print(f"\n{planted} planted, {planted - len(missed)} found")
    for each in missed:
        print(f"not found: {each.planting.kind}: {each.planting.told}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
