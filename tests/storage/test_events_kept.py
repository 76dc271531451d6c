"""Events: entered with what happened, once each, for the webhooks that want them and for nobody else."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
import sqlalchemy as sa
from kept_versions import CRACK, DENT, everything, issue, keep_proven, versions
from webhooks_kept import happen, log, told, webhook

from planning.learning.model import Spell
from rules.pack import Pack
from storage.actual_records import Report
from storage.faults import DifferentDocument
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import deliveries, outbox
from storage.webhook_records import ISSUED, REPORTED, SUPERSEDED, TEST, DeliveryState

NORTH = "north"


def count(store: Store, table: sa.Table) -> int:
    with store._engine.connect() as connection:
        return connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()


def activate(store: Store, pack: Pack, after: int) -> None:
    store.activations.activate(LOCAL, pack.digest, after, "api", everything)


def test_an_issued_procedure_is_told_to_who_wants_it(empty_store: Store, pack: Pack) -> None:
    wants, other = webhook(empty_store, ISSUED), webhook(empty_store, SUPERSEDED, REPORTED)
    (procedure,) = happen(empty_store, pack, "R1")
    (delivery,) = log(empty_store, wants)
    assert (delivery.event, delivery.reference, delivery.procedure_id) == (ISSUED, "R1", procedure.id)
    assert delivery.state is DeliveryState.WAITING
    assert delivery.due_at == delivery.created_at
    assert delivery.attempt_count == 0
    assert log(empty_store, other) == ()
    assert empty_store.deliveries.waiting() == 1


def test_nothing_is_written_where_nobody_wants_it(empty_store: Store, pack: Pack) -> None:
    webhook(empty_store, SUPERSEDED)
    disabled = webhook(empty_store, ISSUED)
    empty_store.webhooks.change(LOCAL, disabled.id, enabled=False)
    procedure, _ = happen(empty_store, pack, "R1", "R2")
    empty_store.actuals.keep(LOCAL, procedure.id, [Report("groove", Spell(22.0), 20.0, 0.3)])
    assert count(empty_store, outbox) == count(empty_store, deliveries) == 0
    assert empty_store.deliveries.waiting() == 0


def test_one_event_is_one_event_however_many_webhooks_are_told(empty_store: Store, pack: Pack) -> None:
    both = [webhook(empty_store, ISSUED), webhook(empty_store, ISSUED, REPORTED)]
    happen(empty_store, pack, "R1")
    first, second = (log(empty_store, each)[0] for each in both)
    assert first.event_id == second.event_id
    assert empty_store.deliveries.waiting() == 1
    assert count(empty_store, outbox) == 1


def test_a_webhook_is_not_told_of_what_happened_before_it(empty_store: Store, pack: Pack) -> None:
    happen(empty_store, pack, "R1")
    late = webhook(empty_store)
    assert log(empty_store, late) == ()


def test_the_same_procedure_again_is_no_event(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    (procedure,) = happen(empty_store, pack, "R1")
    for _ in range(2):
        empty_store.keep_procedure(LOCAL, procedure, CRACK)
    assert told(empty_store, wants) == [(ISSUED, "R1")]


def test_it_is_no_event_after_a_webhook_came_either(empty_store: Store, pack: Pack) -> None:
    (procedure,) = happen(empty_store, pack, "R1")
    late = webhook(empty_store, ISSUED)
    empty_store.keep_procedure(LOCAL, procedure, CRACK)
    assert told(empty_store, late) == []


def test_another_procedure_for_the_line_item_is_an_event(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1", "R1")
    assert told(empty_store, wants) == [(ISSUED, "R1")] * 2


def test_of_a_batch_what_is_new_is_told_and_the_order_of_the_history_stays(
    empty_store: Store, pack: Pack
) -> None:
    wants = webhook(empty_store, ISSUED)
    (known,) = happen(empty_store, pack, "R1")
    new = KeptProcedure("pr-new", "R2", pack.digest, {"disposition": "repair"}, {})
    later = KeptProcedure("pr-later", "R1", pack.digest, {"disposition": "repair"}, {})
    empty_store.keep_procedures(LOCAL, [(later, CRACK), (new, CRACK), (known, CRACK), (new, CRACK)])
    assert told(empty_store, wants) == [(ISSUED, "R1"), (ISSUED, "R1"), (ISSUED, "R2")]
    history = empty_store.procedures_of(LOCAL, "R1", 5).items
    assert [each.id for each in history] == [known.id, "pr-later"]


def test_what_is_rolled_back_is_no_event(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    (procedure,) = happen(empty_store, pack, "R1")
    new = KeptProcedure("pr-new", "R2", pack.digest, {"disposition": "repair"}, {})
    another = KeptProcedure(procedure.id, "R1", pack.digest, {"disposition": "replace"}, {})
    with pytest.raises(DifferentDocument):
        empty_store.keep_procedures(LOCAL, [(new, CRACK), (another, CRACK)])
    assert told(empty_store, wants) == [(ISSUED, "R1")]


def test_of_many_at_once_with_one_procedure_one_is_told(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, ISSUED)
    empty_store.keep_pack(pack)
    together = Barrier(4)
    procedures = [
        KeptProcedure(f"pr-{number}", f"R{number}", pack.digest, {"disposition": "repair"}, {})
        for number in range(3)
    ]

    def keep(turn: int) -> None:
        issues = [(each, CRACK) for each in (procedures if turn % 2 else reversed(procedures))]
        together.wait()
        empty_store.keep_procedures(LOCAL, issues)

    with ThreadPoolExecutor(4) as threads:
        list(threads.map(keep, range(4)))
    assert told(empty_store, wants) == [(ISSUED, "R0"), (ISSUED, "R1"), (ISSUED, "R2")]


def test_shops_are_told_of_their_own_alone(empty_store: Store, pack: Pack) -> None:
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    own, other = webhook(empty_store), webhook(empty_store, shop=NORTH)
    happen(empty_store, pack, "R1")
    happen(empty_store, pack, "N1", shop=NORTH)
    assert told(empty_store, own) == [(ISSUED, "R1")]
    assert told(empty_store, other) == [(ISSUED, "N1")]


def test_a_new_report_is_told_once_for_all_its_stages(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, REPORTED)
    (procedure,) = happen(empty_store, pack, "R1")
    reports = [Report(stage, Spell(22.0), 20.0, 0.3) for stage in ("groove", "fill")]
    empty_store.actuals.keep(LOCAL, procedure.id, reports)
    empty_store.actuals.keep(LOCAL, procedure.id, reports)
    assert told(empty_store, wants) == [(REPORTED, "R1")]
    empty_store.actuals.keep(LOCAL, procedure.id, [Report("groove", Spell(23.0), 20.0, 0.3)])
    assert told(empty_store, wants) == [(REPORTED, "R1")] * 2


def test_superseded_procedures_are_told_once_each_and_entered_even_if_nobody_is_told(
    empty_store: Store, pack: Pack
) -> None:
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    first, second, third = versions(pack, 3)
    keep_proven(empty_store, first, second, third)
    activate(empty_store, first, 0)
    for reference, stated in (("R1", CRACK), ("R2", DENT), ("R3", CRACK)):
        issue(empty_store, first, reference, stated)
    issue(empty_store, first, "N1", shop=NORTH)
    activate(empty_store, second, 1)
    assert count(empty_store, outbox) == 4
    assert empty_store.deliveries.waiting() == 0
    wants = webhook(empty_store, SUPERSEDED)
    activation = empty_store.activations.activate(LOCAL, third.digest, 2, "api", everything)
    empty_store.activations.tell(activation, everything)
    assert told(empty_store, wants) == [(SUPERSEDED, "R1"), (SUPERSEDED, "R2"), (SUPERSEDED, "R3")]
    assert count(empty_store, outbox) == 8
    assert empty_store.deliveries.waiting() == 3


def test_what_comes_between_a_decision_and_telling_is_told_too(empty_store: Store, pack: Pack) -> None:
    wants = webhook(empty_store, SUPERSEDED)
    first, second = versions(pack)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    issue(empty_store, first, "R1")
    activation = empty_store.activations.activate(LOCAL, second.digest, 1, "api", everything)
    issue(empty_store, first, "R2")
    empty_store.activations.tell(activation, everything)
    assert told(empty_store, wants) == [(SUPERSEDED, "R1"), (SUPERSEDED, "R2")]


def test_ids_of_events_look_alike_wherever_they_are_made(empty_store: Store, pack: Pack) -> None:
    first, second = versions(pack)
    wants = webhook(empty_store)
    keep_proven(empty_store, first, second)
    activate(empty_store, first, 0)
    for number in range(5):
        issue(empty_store, first, f"R{number}")
    activate(empty_store, second, 1)
    empty_store.webhooks.test(LOCAL, wants.id)
    ids = [each.event_id for each in log(empty_store, wants)]
    assert len(set(ids)) == len(ids) == 11
    assert all(len(each) == 35 and each.startswith("ev_") and int(each[3:], 16) for each in ids)
    assert {each.event for each in log(empty_store, wants)} == {ISSUED, SUPERSEDED, TEST}
