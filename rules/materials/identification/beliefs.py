"""Bayes' rule in logarithms, and what candidates agree on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import exp, fsum, log
from typing import TypeVar

from rules.materials.identification.model import Beliefs, Prior, Seen, Tables

K = TypeVar("K")


def prior_for(tables: Tables, part: str | None) -> Prior:
    """The prior whose longest phrase stands in the part's name as whole words; else that of any part."""
    words = f" {' '.join((part or '').casefold().split())} "
    fitting = [
        (len(phrase), prior)
        for prior in tables.priors
        for phrase in prior.words
        if f" {phrase.casefold()} " in words
    ]
    return max(fitting, key=lambda found: found[0])[1] if fitting else tables.priors[-1]


def posterior(prior: Beliefs, likelihoods: Iterable[Beliefs]) -> dict[str, float]:
    """Beliefs after independent evidence. No belief and no P(evidence | material) may be 0.

    Sums are exact before rounding, so the order of the evidence changes nothing.
    """
    evidence = tuple(likelihoods)
    logs = {
        symbol: fsum([log(probability), *(log(likelihood[symbol]) for likelihood in evidence)])
        for symbol, probability in prior.items()
    }
    highest = max(logs.values())
    weights = {symbol: exp(value - highest) for symbol, value in logs.items()}
    total = fsum(weights.values())
    return {symbol: weight / total for symbol, weight in weights.items()}


def of_marking(beliefs: Beliefs, marked: Sequence[str], trust: float) -> dict[str, float]:
    """P(marking | material): `trust` shared by the materials marked, the rest by all others."""
    others = max(len(beliefs) - len(marked), 1)
    return {symbol: trust / len(marked) if symbol in marked else (1 - trust) / others for symbol in beliefs}


def share(tables: Tables, beliefs: Beliefs, fact: str) -> dict[Seen, float]:
    """Each value of a fact from the substrate table, and the probability that it holds."""
    return grouped((tables.properties[symbol][fact], p) for symbol, p in beliefs.items())


def agreed_value(held: Mapping[Seen, float], agreement: float) -> Seen | None:
    """The value on which candidates holding together at least `agreement` agree; None when there is none."""
    value, probability = max(held.items(), key=lambda item: item[1])
    return value if probability >= agreement else None


def grouped(items: Iterable[tuple[K, float]]) -> dict[K, float]:
    """The probabilities of equal keys added up."""
    groups: dict[K, list[float]] = {}
    for key, probability in items:
        groups.setdefault(key, []).append(probability)
    return {key: fsum(probabilities) for key, probabilities in groups.items()}
