"""What the tests left can still tell: every combination of their results at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rules.materials.identification.model import Beliefs, Question, Tables

Array = NDArray[np.float64]

COMBINATIONS = 20_000
"""So many combinations of results are looked at; of more tests, those that tell most."""


@dataclass(frozen=True)
class Outlook:
    """`joint` is P(result of every test in `tests`, material): one axis a test, the materials last."""

    tests: tuple[str, ...]
    joint: Array


@dataclass(frozen=True)
class Prospect:
    """A question as it stands now, and as it will stand after each result of each test.

    `bits_now` is the entropy of its answer and `bits_after` the expected entropy after each test.
    `open_now` and `open_after` (an array of results for each test) are the same where the answer is
    still open and the tests then left settle it often enough to be pursued, and 0 elsewhere.
    """

    about: str
    settled: bool
    bits_now: float
    open_now: float
    bits_after: tuple[float, ...]
    open_after: tuple[Array, ...]


def outlook_of(tables: Tables, beliefs: Beliefs, left: Sequence[str]) -> Outlook:
    """The outlook from `beliefs` over the tests left."""
    joint = np.array([beliefs[symbol] for symbol in tables.properties])
    tests = _most_telling(tables, joint, left)
    for test in tests:
        joint = joint[..., np.newaxis, :] * tables.likelihoods_of(test)
    return Outlook(tests, joint)


def probabilities(outlook: Outlook, axis: int) -> Array:
    """The probability of each result of the test on `axis`."""
    each: Array = outlook.joint.sum(axis=_others(outlook, axis, materials=True))
    return each


def prospect_of(tables: Tables, outlook: Outlook, question: Question) -> Prospect:
    """What becomes of one question."""
    held = outlook.joint @ question.classes
    ends_settled = np.where(_settled(tables, held), held.sum(axis=-1), 0.0)
    tests = range(len(outlook.tests))
    everything = tuple(tests)
    now = held.sum(axis=everything)
    after = [held.sum(axis=_others(outlook, axis)) for axis in tests]
    ends = [ends_settled.sum(axis=_others(outlook, axis)) for axis in tests]
    return Prospect(
        about=question.about,
        settled=bool(_settled(tables, now)),
        bits_now=float(_entropy(now)),
        open_now=float(_open(tables, now, ends_settled.sum())),
        bits_after=tuple(float((_entropy(each) * each.sum(axis=-1)).sum()) for each in after),
        open_after=tuple(_open(tables, each, end) for each, end in zip(after, ends, strict=True)),
    )


def _open(tables: Tables, held: Array, ends_settled: Array) -> Array:
    """Entropy of the answers where they matter still; `held` has the answers on its last axis."""
    pursued = ends_settled >= tables.worthwhile * held.sum(axis=-1)
    return np.where(~_settled(tables, held) & pursued, _entropy(held), 0.0)


def _settled(tables: Tables, held: Array) -> NDArray[np.bool_]:
    agreed: NDArray[np.bool_] = held.max(axis=-1) >= tables.agreement * held.sum(axis=-1)
    return agreed


def _entropy(held: Array) -> Array:
    """In bits, along the last axis; `held` need not sum to 1."""
    shares = held / held.sum(axis=-1, keepdims=True)
    logs = np.log2(shares, out=np.zeros_like(shares), where=shares > 0)
    bits: Array = -(shares * logs).sum(axis=-1)
    return bits


def _most_telling(tables: Tables, beliefs: Array, left: Sequence[str]) -> tuple[str, ...]:
    """The tests left, in their order; without those that tell least where there are too many."""
    chosen: set[str] = set()
    combinations = 1
    for test in sorted(left, key=lambda test: _bits_about_material(tables, beliefs, test), reverse=True):
        combinations *= len(tables.tests[test].results)
        if combinations > COMBINATIONS:
            break
        chosen.add(test)
    return tuple(test for test in left if test in chosen)


def _bits_about_material(tables: Tables, beliefs: Array, test: str) -> float:
    likelihoods = tables.likelihoods_of(test)
    results = (likelihoods * beliefs).sum(axis=-1)
    return float(_entropy(results) - (_entropy(likelihoods.T) * beliefs).sum())


def _others(outlook: Outlook, axis: int, *, materials: bool = False) -> tuple[int, ...]:
    """Every axis but `axis`; that of the materials, or answers, only where it is asked for."""
    axes = range(len(outlook.tests) + materials)
    return tuple(each for each in axes if each != axis)
