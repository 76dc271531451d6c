"""Whether a process grows is told from its samples."""

import os
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from endurance.load.processes import MOST_GROWTH, Growth, Sample, Watched


def growth(*resident_mib: float) -> Growth:
    return Growth([Sample(float(at_s), mib, 4, 20) for at_s, mib in enumerate(resident_mib)])


def test_what_fills_at_first_and_then_stays_is_flat() -> None:
    assert growth(*range(50, 100, 5), *[100.0] * 40).is_flat


def test_what_goes_on_growing_is_not() -> None:
    leaking = growth(*(100 + 0.2 * at_s for at_s in range(100)))

    assert not leaking.is_flat
    assert leaking.mib_per_hour == pytest.approx(0.2 * 3600)


@pytest.mark.parametrize("what", ["threads", "open_files"])
def test_threads_or_files_that_become_more_and_more_are_growth(what: str) -> None:
    members = {"resident_mib": 100.0, "threads": 4, "open_files": 20}
    samples = [Sample(at_s=float(n), **(members | {what: n})) for n in range(40)]  # type: ignore[arg-type]

    assert not Growth(samples).is_flat


def test_a_sample_alone_is_flat() -> None:
    assert growth(100.0).is_flat
    assert growth(100.0).mib_per_hour == 0


@given(st.lists(st.floats(50, 500), min_size=1, max_size=60), st.floats(0, MOST_GROWTH * 0.99))
def test_a_wave_around_one_size_within_the_bound_is_flat(waves: list[float], part: float) -> None:
    lowest = min(waves)

    assert growth(*(min(each, lowest * (1 + part)) for each in waves)).is_flat


def test_a_process_is_looked_up_where_the_system_tells_it() -> None:
    watched = Watched(SimpleNamespace(processes=lambda: [os.getpid(), 2**22 + 1]))  # type: ignore[arg-type]
    watched.look()

    (only,) = watched.processes
    (sample,) = watched.processes[only].samples
    assert only == os.getpid()
    assert sample.resident_mib > 5
    assert sample.threads >= 1
    assert sample.open_files > 0
