"""Mistakes planted into the base pack are found; `seeded_faults.py` plants more of them."""

from __future__ import annotations

from itertools import islice

import pytest
from seeded_faults import changes_nothing, faults, found, seeded
from seeded_kinds import KINDS, plantings

SEED = 20260101


def test_every_mistake_is_found_and_shown() -> None:
    planted = list(islice(faults(SEED), 25))
    assert [each.planting.told for each in planted if not each.by] == []
    assert all(each.witness for each in planted)
    assert len({each.planting.kind for each in planted}) >= 12


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_mistake_can_be_planted(kind: str) -> None:
    ways = plantings(kind)
    assert len(ways) >= 2
    assert ways[0].files() != ways[-1].files()


def test_a_seed_plants_the_same_mistakes_every_time() -> None:
    first, again, other = (list(islice(seeded(seed), 60)) for seed in (1, 1, 2))
    assert first == again != other
    assert len({(each.path, each.address, str(each.new)) for each in first}) == 60


def test_what_changes_no_answer_is_told_from_what_does() -> None:
    redundant = next(
        each
        for each in plantings("drop an 'after'")
        if each.told == "stages/fill.yaml, fill-rigid, after.1: gone"
    )
    telling = next(
        each
        for each in plantings("drop an 'after'")
        if each.told == "stages/restore.yaml, reinforce-back, after.0: gone"
    )
    assert changes_nothing(found(redundant).pack)
    assert not changes_nothing(found(telling).pack)
