"""Likelihoods that follow from a measured range: a sliver floats when its density is below that of water."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf

from rules.pack import Figure


@dataclass(frozen=True)
class FigureRule:
    """Which result a figure gives: the first below the first cut, the next from there to the second, ...

    `cuts` ascend; `results` has one more. A figure is taken as equally probable all over its range.
    `error` is the probability that the result seen says nothing about the material (air bubbles,
    paint left on), every result then being as probable as any other.
    """

    figure: str
    cuts: tuple[float, ...]
    results: tuple[str, ...]
    error: float


def results_of(rule: FigureRule, figure: Figure) -> dict[str, float]:
    """The probability of each result for a material with this range; none is 0 while `error` is not."""
    edges = (-inf, *rule.cuts, inf)
    spread = rule.error / len(rule.results)
    return {
        result: (1 - rule.error) * _share(figure, low, high) + spread
        for result, (low, high) in zip(rule.results, pairwise(edges), strict=True)
    }


def _share(figure: Figure, low: float, high: float) -> float:
    """The share of the figure's range that lies from `low` to below `high`."""
    if figure.low == figure.high:
        return float(low <= figure.low < high)
    inside = min(high, figure.high) - max(low, figure.low)
    return max(inside, 0.0) / (figure.high - figure.low)
