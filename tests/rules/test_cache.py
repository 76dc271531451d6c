"""Remembered decisions."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.cache import DecisionCache
from rules.decision import Decision, PackFault
from rules.pack import Disposition


def decision(name: str) -> Decision:
    return Decision(Disposition.REPAIR, (), {}, {}, {}, {}, (name,))


def key(number: int, digest: str = "d") -> tuple[str, tuple[int, ...]]:
    return digest, (number,)


def never() -> Decision:
    raise AssertionError("was computed again")


def test_a_decision_is_computed_once_and_then_remembered() -> None:
    cache = DecisionCache()
    first = cache.get_or_compute(key(1), lambda: decision("one"))
    assert cache.get_or_compute(key(1), never) is first
    assert (cache.hits, cache.misses) == (1, 1)


def test_packs_and_facts_are_told_apart() -> None:
    cache = DecisionCache()
    for each in (key(1), key(2), key(1, "other"), ("d", (1, 1))):
        assert cache.get_or_compute(each, lambda each=each: decision(str(each))) == decision(str(each))
    assert (cache.hits, cache.misses) == (0, 4)


def test_the_decision_unused_for_longest_is_forgotten() -> None:
    cache = DecisionCache(size=2)
    for number in (1, 2, 1, 3):
        cache.get_or_compute(key(number), lambda number=number: decision(str(number)))
    assert cache.get_or_compute(key(1), never) == decision("1")
    assert cache.get_or_compute(key(3), never) == decision("3")
    assert cache.get_or_compute(key(2), lambda: decision("again")) == decision("again")


def test_a_cache_of_size_zero_remembers_nothing() -> None:
    cache = DecisionCache(size=0)
    assert cache.get_or_compute(key(1), lambda: decision("a")) == decision("a")
    assert cache.get_or_compute(key(1), lambda: decision("b")) == decision("b")


def test_a_failure_is_not_kept() -> None:
    cache = DecisionCache()

    def fail() -> Decision:
        raise PackFault("no rule decides a disposition")

    for _ in range(2):
        with pytest.raises(PackFault):
            cache.get_or_compute(key(1), fail)
    assert cache.get_or_compute(key(1), lambda: decision("a")) == decision("a")


def test_computing_may_use_the_cache_itself() -> None:
    cache = DecisionCache()

    def outer() -> Decision:
        return cache.get_or_compute(key(2), lambda: decision("inner"))

    assert cache.get_or_compute(key(1), outer) == decision("inner")


def test_threads_get_their_own_answers() -> None:
    cache = DecisionCache(size=5)

    def ask(number: int) -> bool:
        return cache.get_or_compute(key(number % 9), lambda: decision(str(number % 9))) == decision(
            str(number % 9)
        )

    with ThreadPoolExecutor(8) as pool:
        assert all(pool.map(ask, range(3000)))
    assert cache.hits + cache.misses == 3000


@given(st.lists(st.integers(0, 6), max_size=40), st.integers(0, 5))
def test_it_answers_as_the_computation_does_and_keeps_those_used_last(asked: list[int], size: int) -> None:
    cache = DecisionCache(size)
    computed: list[int] = []

    def computing(number: int) -> Callable[[], Decision]:
        return lambda: computed.append(number) or decision(str(number))  # type: ignore[func-returns-value]

    recent: list[int] = []
    for number in asked:
        known = number in recent[:size]
        before = len(computed)
        assert cache.get_or_compute(key(number), computing(number)) == decision(str(number))
        assert (len(computed) == before) == known
        recent = [number, *(each for each in recent if each != number)]
