from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from kept_versions import keep_proven, nothing, versions
from sqlalchemy import delete, text, update

from rules.pack import Pack
from storage import audit as module
from storage.audit import START, hash_of
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import activations, audit


@pytest.fixture
def used(empty_store: Store, pack: Pack) -> Store:
    """Two packs kept and proven, and put in force in turn: six entries."""
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    empty_store.activations.activate(LOCAL, first.digest, 0, "api", nothing)
    empty_store.activations.activate(LOCAL, second.digest, 1, "folder", nothing)
    return empty_store


def test_every_act_has_an_entry_and_the_chain_is_whole(used: Store) -> None:
    report = used.audit.verify()
    assert (report.entries, report.faults) == (6, ())
    assert used.audit.verify(report.head).faults == ()


def test_what_is_put_in_force_meanwhile_is_no_fault(
    used: Store, pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The chain and the activations are read at one moment, however long the chain is."""
    activations_untold = module._activations_untold

    def decided_meanwhile(*arguments: Any) -> Iterator[str]:
        used.activations.activate(LOCAL, versions(pack)[0].digest, 2, "api", nothing)
        yield from activations_untold(*arguments)

    monkeypatch.setattr(module, "_activations_untold", decided_meanwhile)
    report = used.audit.verify()
    assert (report.entries, report.faults) == (6, ())


def test_an_empty_chain_is_whole(empty_store: Store) -> None:
    report = empty_store.audit.verify()
    assert (report.entries, report.head, report.faults) == (0, START, ())


@pytest.mark.parametrize("number", range(1, 7))
@pytest.mark.parametrize("changed", [{"entry": "{}"}, {"previous": "1" * 64}, {"hash": "1" * 64}])
def test_a_changed_row_is_found(used: Store, number: int, changed: dict[str, str]) -> None:
    with used._engine.begin() as connection:
        connection.execute(update(audit).where(audit.c.number == number).values(changed))
    assert used.audit.verify().faults


def test_an_entry_that_is_forged_with_its_hash_breaks_the_next_link(used: Store) -> None:
    with used._engine.begin() as connection:
        row = connection.execute(text("SELECT * FROM audit WHERE number = 3")).one()
        forged = row.entry.replace("invented", "innocent")
        assert forged != row.entry
        connection.execute(
            update(audit).where(audit.c.number == 3).values(entry=forged, hash=hash_of(row.previous, forged))
        )
    assert used.audit.verify().faults == ("entry 4 does not follow the one before it",)


@pytest.mark.parametrize("number", range(1, 7))
def test_a_missing_entry_is_found(used: Store, number: int) -> None:
    head = used.audit.verify().head
    with used._engine.begin() as connection:
        connection.execute(delete(audit).where(audit.c.number == number))
    assert used.audit.verify(head).faults


def test_an_activation_that_was_not_entered_or_is_changed_or_gone_is_found(used: Store) -> None:
    with used._engine.begin() as connection:
        connection.execute(update(activations).where(activations.c.number == 1).values(pack_digest="2" * 64))
        connection.execute(delete(activations).where(activations.c.number == 2))
        connection.execute(
            text(
                "INSERT INTO activations SELECT 99, shop, 3, pack_digest, effective_from, activated_at,"
                " origin FROM activations WHERE number = 1"
            )
        )
    assert used.audit.verify().faults == (
        "activation 1 is not the one that was entered here",
        "activation 3 is not the one that was entered here",
        "activation 2 was entered here and is gone",
    )


def test_keeping_a_pack_again_is_no_new_act(used: Store, pack: Pack) -> None:
    used.packs.keep(LOCAL, versions(pack)[0])
    assert used.audit.verify().entries == 6
