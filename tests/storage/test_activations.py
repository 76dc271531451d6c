from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from kept_versions import CRACK, DENT, everything, issue, keep_proven, nothing, told, versions

from rules.pack import Pack
from storage.faults import ActivationConflict, PackNotProven
from storage.records import Situation, StatedFacts
from storage.shops import LOCAL
from storage.store import Store
from storage.webhook_records import SUPERSEDED

HOUR = timedelta(hours=1)


def now() -> datetime:
    return datetime.now(UTC)


def activate(store: Store, pack: Pack, after: int, at: datetime | None = None) -> int:
    return store.activations.activate(LOCAL, pack.digest, after, "api", everything, at).number


def test_nothing_is_in_force_before_the_first_decision(empty_store: Store) -> None:
    assert empty_store.activations.in_force(LOCAL, now()) is None
    assert empty_store.activations.last(LOCAL) is None
    assert empty_store.activations.upcoming(LOCAL, now()) == ()


def test_the_last_decision_is_in_force_from_its_moment_on(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    before = now()
    activate(empty_store, first, 0)
    between = now()
    activate(empty_store, second, 1)
    found = [empty_store.activations.in_force(LOCAL, at) for at in (before, between, now())]
    assert [each and each.pack_digest for each in found] == [None, first.digest, second.digest]


def test_a_decision_for_later_is_upcoming_until_its_moment(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    activate(empty_store, second, 1, now() + HOUR)
    in_force = empty_store.activations.in_force(LOCAL, now())
    assert in_force is not None
    assert in_force.number == 1
    assert [each.number for each in empty_store.activations.upcoming(LOCAL, now())] == [2]
    later = now() + 2 * HOUR
    in_force = empty_store.activations.in_force(LOCAL, later)
    assert in_force is not None
    assert in_force.number == 2
    assert empty_store.activations.upcoming(LOCAL, later) == ()


def test_a_later_decision_prevails_over_what_was_still_to_come(empty_store: Store, pack: Pack) -> None:
    packs = versions(pack, 4)
    keep_proven(empty_store, *packs)
    start = now()
    activate(empty_store, packs[0], 0)
    activate(empty_store, packs[1], 1, start + 3 * HOUR)
    activate(empty_store, packs[2], 2, start + 2 * HOUR)
    assert [each.number for each in empty_store.activations.upcoming(LOCAL, now())] == [3]
    activate(empty_store, packs[3], 3)
    assert empty_store.activations.upcoming(LOCAL, now()) == ()
    in_force = empty_store.activations.in_force(LOCAL, start + 9 * HOUR)
    assert in_force is not None
    assert in_force.number == 4


def test_before_goes_back_to_the_last_other_pack_that_was_in_force(empty_store: Store, pack: Pack) -> None:
    first, second, never = versions(pack, 3)
    keep_proven(empty_store, first, second, never)
    activate(empty_store, first, 0)
    activate(empty_store, never, 1, now() + HOUR)
    activate(empty_store, second, 2)
    activate(empty_store, second, 3)
    last = empty_store.activations.last(LOCAL)
    assert last is not None
    back = empty_store.activations.before(last)
    assert back is not None
    assert back.pack_digest == first.digest
    assert empty_store.activations.before(back) is None


def test_only_a_proven_pack_is_put_in_force(empty_store: Store, pack: Pack) -> None:
    empty_store.packs.keep(LOCAL, pack)
    with pytest.raises(PackNotProven):
        activate(empty_store, pack, 0)
    empty_store.packs.keep_proof(LOCAL, pack.digest, False, {"passed": False})
    with pytest.raises(PackNotProven):
        activate(empty_store, pack, 0)
    assert empty_store.activations.last(LOCAL) is None
    assert told(empty_store) == []
    empty_store.packs.keep_proof(LOCAL, pack.digest, True, {"passed": True})
    assert activate(empty_store, pack, 0) == 1


def test_who_builds_on_an_earlier_decision_is_refused(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    for after in (0, 2, 7):
        with pytest.raises(ActivationConflict):
            activate(empty_store, second, after)
    last = empty_store.activations.last(LOCAL)
    assert last is not None
    assert last.pack_digest == first.digest


def test_of_two_decisions_at_once_one_is_taken(empty_store: Store, pack: Pack) -> None:
    both = versions(pack)
    keep_proven(empty_store, *both)
    together = Barrier(2)

    def decide(version: Pack) -> int | None:
        together.wait()
        try:
            return activate(empty_store, version, 0)
        except ActivationConflict:
            return None

    with ThreadPoolExecutor(2) as threads:
        outcomes = list(threads.map(decide, both))
    assert sorted(outcomes, key=str) == [1, None]
    assert empty_store.audit.verify().faults == ()


def test_line_items_are_grouped_by_what_they_state_and_the_pack_of_their_last_procedure(
    empty_store: Store, pack: Pack
) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    for number in range(3):
        issue(empty_store, first, f"R{number}")
    issue(empty_store, first, "R3", DENT)
    issue(empty_store, second, "R0")
    issue(empty_store, second, "R0")
    assert empty_store.activations.situations(LOCAL) == (
        Situation("local", first.digest, CRACK, 2, "R1"),
        Situation("local", first.digest, DENT, 1, "R3"),
        Situation("local", second.digest, CRACK, 1, "R0"),
    )


def test_the_order_in_which_facts_are_stated_means_nothing() -> None:
    turned = StatedFacts(CRACK.material, dict(reversed(CRACK.facts.items())))
    assert turned.key == CRACK.key
    assert StatedFacts("TPO", {"damage_length_mm": 80.0}).key != CRACK.key
    assert StatedFacts("PP", CRACK.facts).key != CRACK.key


def test_every_line_item_concerned_is_told_in_the_transaction_of_the_decision(
    empty_store: Store, pack: Pack
) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    issue(empty_store, first, "an earlier procedure of R1")
    procedures = [issue(empty_store, first, "R1"), issue(empty_store, first, "R2", DENT)]
    seen: list[Situation] = []

    def only_dents(situations: object) -> list[Situation]:
        assert isinstance(situations, tuple)
        seen.extend(situations)
        return [each for each in situations if each.stated == DENT]

    activation = empty_store.activations.activate(LOCAL, second.digest, 1, "api", only_dents)
    assert {each.pack_digest for each in seen} == {first.digest}
    assert told(empty_store) == [(SUPERSEDED, "R2", procedures[1].id, activation.key)]


def test_who_has_a_procedure_of_the_new_pack_already_is_not_told(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    issue(empty_store, first, "R1")
    issue(empty_store, second, "R1")
    activate(empty_store, second, 1)
    assert told(empty_store) == []


def test_telling_again_reaches_those_that_came_meanwhile_and_nobody_twice(
    empty_store: Store, pack: Pack
) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    early = issue(empty_store, first, "R1")
    activation = empty_store.activations.activate(LOCAL, second.digest, 1, "api", everything)
    late = issue(empty_store, first, "R2")
    for _ in range(2):
        empty_store.activations.tell(activation, everything)
    assert told(empty_store) == [
        (SUPERSEDED, reference, kept.id, activation.key) for reference, kept in (("R1", early), ("R2", late))
    ]


def test_a_decision_that_fails_leaves_nothing_behind(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    issue(empty_store, first, "R1")
    entries = empty_store.audit.verify().entries

    def fail(_situations: object) -> list[Situation]:
        raise RuntimeError("in the middle")

    with pytest.raises(RuntimeError, match="in the middle"):
        empty_store.activations.activate(LOCAL, second.digest, 1, "api", fail)
    last = empty_store.activations.last(LOCAL)
    assert last is not None
    assert last.number == 1
    assert empty_store.audit.verify().entries == entries
    empty_store.activations.activate(LOCAL, second.digest, 1, "api", nothing)
