"""Many procedures kept at once, all or none, in their order."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from uuid import uuid4

import pytest
from kept_versions import CRACK, DENT

from storage.faults import DifferentDocument, PackNotKept
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store

Make = Callable[..., KeptProcedure]


def test_of_none_nothing_is_kept(store: Store) -> None:
    assert store.keep_procedures(LOCAL, []) == []


def test_what_came_last_in_a_batch_is_the_latest_of_its_line_item(store: Store, issue: Make) -> None:
    reference = uuid4().hex
    made = [issue(reference) for _ in range(5)]
    made += made[1:2]  # issued a second time, so it is the latest
    kept = store.keep_procedures(LOCAL, [(each, CRACK) for each in made])
    assert [each.id for each in kept] == [each.id for each in made]
    found = store.procedures_of(LOCAL, reference, 10).items
    assert [each.id for each in found] == [made[number].id for number in (1, 4, 3, 2, 0)]


def test_where_one_cannot_be_kept_none_is(store: Store, issue: Make) -> None:
    known, new = issue(), issue()
    store.keep_procedure(LOCAL, known, CRACK)
    other = replace(known, document={"disposition": "replace"})
    with pytest.raises(DifferentDocument):
        store.keep_procedures(LOCAL, [(new, CRACK), (other, CRACK)])
    assert store.procedure(LOCAL, new.id) is None
    with pytest.raises(PackNotKept):
        store.keep_procedures(LOCAL, [(new, CRACK), (replace(issue(), pack_digest="none"), CRACK)])
    assert store.procedure(LOCAL, new.id) is None


def test_batches_and_single_ones_at_once_never_wait_in_a_circle(store: Store, issue: Make) -> None:
    made = [issue(uuid4().hex) for _ in range(12)]
    batch = [(each, CRACK if number % 2 else DENT) for number, each in enumerate(made)]

    def keep(turn: int) -> int:
        match turn % 3:
            case 0:
                return len(store.keep_procedures(LOCAL, batch))
            case 1:
                return len(store.keep_procedures(LOCAL, batch[::-1]))
            case _:
                return len([store.keep_procedure(LOCAL, *each) for each in batch[::-1]])

    with ThreadPoolExecutor(4) as threads:
        assert list(threads.map(keep, range(12))) == [12] * 12
