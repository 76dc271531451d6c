"""A short load on a served process: what is asked for, what is counted, and what is held to be wrong."""

from collections.abc import Iterator

import pytest

from endurance.calling import Caller
from endurance.load.callers import as_fast_as_answered, at_rate
from endurance.load.mix import WEIGHTS, Kind, Mix
from endurance.services import SERVE, Service, running


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("load")
    with running(SERVE, folder, f"sqlite:///{folder}/store.sqlite3") as served:
        yield served


@pytest.fixture(scope="module")
def mix() -> Mix:
    """One for the service, as it counts its line items from 1."""
    return Mix(seed=7)


def test_every_kind_of_request_is_answered_as_it_should_be(service: Service, mix: Mix) -> None:
    caller, seen = Caller(service.port), set[Kind]()
    for _ in range(400):
        if seen == set(Kind):
            break
        kind, send = mix.next()
        assert send(caller) is None
        seen.add(kind)

    assert seen == set(Kind) == set(WEIGHTS)


def test_callers_count_every_request_once(service: Service, mix: Mix) -> None:
    tally = as_fast_as_answered(service.port, mix, callers=2, for_s=1)

    assert tally.requests > 2
    assert tally.per_s == pytest.approx(tally.requests / tally.lasted_s)
    assert not tally.wrong


def test_a_rate_is_kept_whether_anybody_answers_or_not() -> None:
    looks: list[int] = []
    unused_port = 1
    tally = at_rate(unused_port, Mix(seed=9), per_s=50, for_s=3, seed=9, look=lambda: looks.append(1))

    # 150 on average, with a standard deviation of 12.
    assert 90 < tally.requests < 210
    assert tally.wrong.total() == tally.requests
    assert looks


def test_the_same_seed_asks_for_the_same() -> None:
    kinds = [[mix.next()[0] for _ in range(50)] for mix in (Mix(seed=3), Mix(seed=3), Mix(seed=4))]

    assert kinds[0] == kinds[1] != kinds[2]
