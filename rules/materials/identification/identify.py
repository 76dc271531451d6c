"""Evidence in; ranked materials, what they agree on and the next best test out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum

from rules.materials.identification.beliefs import (
    agreed_value,
    grouped,
    of_marking,
    posterior,
    prior_for,
    share,
)
from rules.materials.identification.choosing import Choice, Stop, best_test, remaining_tests
from rules.materials.identification.model import Beliefs, Evidence, Matter, Question, Seen, Tables
from rules.materials.resolve import UNKNOWN, resolve_all
from rules.pack import Pack

SPEAKS = 2.0
"""From this ratio to the average material on, evidence is said to speak for or against one."""


@dataclass(frozen=True)
class EvidenceFault:
    """One result that can't be used: the test, the value given, and what is accepted."""

    test: str
    value: object
    detail: str
    accepted: tuple[str, ...]


class EvidenceRefused(ValueError):
    """At least one test or result is not in the tables; `faults` has all of them."""

    def __init__(self, faults: tuple[EvidenceFault, ...]) -> None:
        super().__init__("; ".join(f"{fault.test}: {fault.detail}" for fault in faults))
        self.faults = faults


@dataclass(frozen=True)
class Candidate:
    """A material the part may be made of; `evidence` says in words what speaks for and against it."""

    material: str
    name: str
    probability: float
    evidence: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Materials that need not be told apart, the likeliest first, and their probability together."""

    materials: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class Identification:
    """The answer. Probabilities of `candidates` sum to 1, the likeliest first.

    `groups` are the candidates that need not be told apart, the likeliest first; `differs` says that
    something which matters is still open between them. `agreed` holds the facts on which candidates
    holding enough probability together agree; `open` every other fact with the probability of each
    value. Exactly one of `next_test` and `stops` is None. `cautions` are ids: those against tests
    never to be done, then those of the next test.
    """

    candidates: tuple[Candidate, ...]
    prior_part: str
    groups: tuple[Group, ...]
    differs: bool
    agreed: Mapping[str, Seen]
    open: Mapping[str, Mapping[Seen, float]]
    next_test: Choice | None
    stops: Stop | None
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Told:
    """One piece of evidence: its words, P(it | material), and the reason by material."""

    words: str
    likelihood: Beliefs
    why: Mapping[str, str]


def identify(pack: Pack, tables: Tables, evidence: Evidence, matter: Matter | None = None) -> Identification:
    """Weigh `evidence`; `matter` is what matters, None: what does while no line item is known.

    Raises EvidenceRefused, and MaterialUnknown for a marking that names no row.
    """
    faults = faults_of(tables, evidence.tests)
    if faults:
        raise EvidenceRefused(faults)
    mattering = matter or tables.matter
    prior = prior_for(tables, evidence.part)
    marking, notes = _marking(pack, tables, prior.beliefs, evidence.marking)
    told = [*marking, *(_result(tables, test, evidence.tests[test]) for test in sorted(evidence.tests))]
    beliefs = posterior(prior.beliefs, (one.likelihood for one in told))
    left = remaining_tests(tables, evidence.tests, prior, mattering)
    chosen = best_test(tables, beliefs, left, mattering)
    held = {fact: share(tables, beliefs, fact) for fact in tables.facts}
    agreed = {fact: agreed_value(values, tables.agreement) for fact, values in held.items()}
    return Identification(
        candidates=_ranked(pack, prior.beliefs, beliefs, told),
        prior_part=prior.part,
        groups=_groups(beliefs, mattering.whole),
        differs=chosen is not Stop.SETTLED,
        agreed={fact: value for fact, value in agreed.items() if value is not None},
        open={fact: held[fact] for fact, value in agreed.items() if value is None},
        next_test=chosen if isinstance(chosen, Choice) else None,
        stops=chosen if isinstance(chosen, Stop) else None,
        cautions=_cautions(tables, chosen),
        notes=notes,
    )


def _cautions(tables: Tables, chosen: Choice | Stop) -> tuple[str, ...]:
    never = [caution for one in tables.never for caution in one.cautions]
    of_test = tables.tests[chosen.test].cautions if isinstance(chosen, Choice) else ()
    return tuple(dict.fromkeys((*never, *of_test)))


def faults_of(tables: Tables, results: Mapping[str, str]) -> tuple[EvidenceFault, ...]:
    """The tests and results that can't be used."""
    faults = []
    for test, result in results.items():
        if test not in tables.tests:
            never = next(
                (f", and is never to be done: {one.why}" for one in tables.never if one.test == test), ""
            )
            detail = f"is not a test of this pack{never}"
            faults.append(EvidenceFault(test, result, detail, tuple(tables.tests)))
        elif result not in tables.tests[test].results:
            accepted = tuple(tables.tests[test].results)
            faults.append(EvidenceFault(test, result, f"must be one of {', '.join(accepted)}", accepted))
    return tuple(faults)


def _marking(
    pack: Pack, tables: Tables, prior: Beliefs, text: str | None
) -> tuple[list[_Told], tuple[str, ...]]:
    """A marking as evidence; none where it is not given or says that the material is not known."""
    if text is None:
        return [], ()
    found = resolve_all(pack, text)
    marked = tuple(dict.fromkeys(one.substrate.symbol for one in found))
    notes = tuple(note for one in found for note in one.notes)
    if UNKNOWN in marked:
        return [], notes
    why = f"The marking names {', '.join(marked)}."
    likelihood = of_marking(prior, marked, tables.marking_trust)
    return [_Told(f"marking {text.strip()}", likelihood, dict.fromkeys(prior, why))], notes


def _result(tables: Tables, test: str, result: str) -> _Told:
    why = {symbol: row.why for symbol, row in tables.likelihoods[test].items()}
    return _Told(f"{test} {result}", tables.of_result(test, result), why)


def _ranked(pack: Pack, prior: Beliefs, beliefs: Beliefs, told: list[_Told]) -> tuple[Candidate, ...]:
    averages = [fsum(prior[symbol] * one.likelihood[symbol] for symbol in prior) for one in told]
    ranked = sorted(beliefs.items(), key=lambda item: (-item[1], item[0]))
    return tuple(
        Candidate(
            symbol,
            pack.substrates[symbol].name,
            probability,
            tuple(_words(symbol, one, average) for one, average in zip(told, averages, strict=True)),
        )
        for symbol, probability in ranked
    )


def _groups(beliefs: Beliefs, question: Question) -> tuple[Group, ...]:
    ranked = sorted(beliefs, key=lambda symbol: (-beliefs[symbol], symbol))
    together = grouped((question.answers[symbol], beliefs[symbol]) for symbol in ranked)
    groups = (
        Group(tuple(symbol for symbol in ranked if question.answers[symbol] == answer), probability)
        for answer, probability in together.items()
    )
    return tuple(sorted(groups, key=lambda group: -group.probability))


def _words(symbol: str, told: _Told, average: float) -> str:
    likelihood = told.likelihood[symbol]
    ratio = likelihood / average
    speaks = "for it" if ratio >= SPEAKS else "against it" if ratio <= 1 / SPEAKS else "neither way"
    return f"{told.words} speaks {speaks} ({likelihood:.2f}; {average:.2f} over all). {told.why[symbol]}"
