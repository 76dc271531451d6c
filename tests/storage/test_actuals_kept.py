from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from math import log
from random import Random
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kept_versions import CRACK
from sqlalchemy import select

from planning.learning.model import Reason, Spell
from planning.learning.posterior import sums_of
from storage import actuals as module
from storage.actual_records import KeptActual, Report, State
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import estimates

NewProcedure = Callable[[], str]


def took(work_min: float, stage: str, **more: object) -> Report:
    """A report on a stage that the catalogue gives 20 minutes."""
    report = Report(stage, Spell(work_min), predicted_min=20.0, predicted_spread=0.3)
    return replace(report, **more)  # type: ignore[arg-type]


@pytest.fixture
def stage() -> str:
    """A stage that no other test reports on, as the PostgreSQL schema is shared."""
    return f"stage-{uuid4().hex[:8]}"


@pytest.fixture
def procedure(store: Store, issue: Callable[..., KeptProcedure]) -> NewProcedure:
    """Keeps a new procedure, and tells its id."""
    return lambda: store.keep_procedure(LOCAL, issue(), CRACK).id


def kept(store: Store, procedure_id: str, *reports: Report) -> list[KeptActual]:
    return [taken.actual for taken in store.actuals.keep(LOCAL, procedure_id, reports)]


def jobs(store: Store, stage: str) -> int:
    found = store.estimates.of_shop(LOCAL).get(stage)
    return 0 if found is None else found.sums.count


def test_reports_are_read_back_as_they_were_made(store: Store, procedure: NewProcedure, stage: str) -> None:
    zone = timezone(timedelta(hours=-6))
    start = datetime(2027, 3, 2, 8, 15, tzinfo=zone)
    clocked = Spell(started_at=start, ended_at=start + timedelta(minutes=24))
    report = took(0, stage, spell=clocked, check_passed=False, check_note="lifts", remark="cold")
    other = took(12.5, f"{stage}-b", check_passed=True)
    procedure_id, before = procedure(), datetime.now(UTC)
    store.actuals.keep(LOCAL, procedure_id, [report, other])
    found = store.actuals.of_procedure(LOCAL, procedure_id).items
    assert [each.report for each in found] == [report, other]
    assert found[0].report.spell.started_at is not None
    assert found[0].report.spell.started_at.utcoffset() == timedelta(hours=-6)
    assert all(before <= each.reported_at <= datetime.now(UTC) for each in found)
    assert {each.state for each in found} == {State.COUNTED}


def test_the_sums_are_those_of_the_counted_reports(store: Store, procedure: NewProcedure, stage: str) -> None:
    minutes = [18.0, 22.0, 30.0, 0.0, 20.0 * 60, 19.0]
    for work_min in minutes:
        store.actuals.keep(LOCAL, procedure(), [took(work_min, stage)])
    counted = [log(work_min / 20) for work_min in (18.0, 22.0, 30.0, 19.0)]
    assert store.estimates.of_shop(LOCAL)[stage].sums == sums_of(counted)
    assert store.estimates.set_aside(LOCAL)[stage] == 2


def test_what_cannot_be_is_set_aside_with_its_reason(
    store: Store, procedure: NewProcedure, stage: str
) -> None:
    (found,) = kept(store, procedure(), took(-3.0, stage))
    assert (found.state, found.reason) == (State.SET_ASIDE, Reason.NO_TIME)
    assert found.report.spell.minutes == -3
    assert jobs(store, stage) == 0


def test_a_lone_report_far_off_counts_once_another_bears_it_out(
    store: Store, procedure: NewProcedure, stage: str
) -> None:
    first_id = procedure()
    (first,) = kept(store, first_id, took(100.0, stage))
    assert (first.state, first.reason) == (State.SET_ASIDE, Reason.FAR_OFF)
    (second,) = kept(store, procedure(), took(105.0, stage))
    assert second.state is State.COUNTED
    (first,) = store.actuals.of_procedure(LOCAL, first_id).items
    assert (first.state, first.reason) == (State.COUNTED, None)
    assert jobs(store, stage) == 2


def test_the_same_report_twice_counts_once(store: Store, procedure: NewProcedure, stage: str) -> None:
    procedure_id, report = procedure(), took(22.0, stage, remark="as always")
    (first,) = store.actuals.keep(LOCAL, procedure_id, [report])
    (again,) = store.actuals.keep(LOCAL, procedure_id, [report])
    assert (first.repeated, again.repeated) == (False, True)
    assert first.actual == again.actual
    assert jobs(store, stage) == 1
    assert len(store.actuals.of_procedure(LOCAL, procedure_id).items) == 1


def test_a_correction_takes_the_place_of_what_was_reported(
    store: Store, procedure: NewProcedure, stage: str
) -> None:
    procedure_id = procedure()
    wrong, right = took(20.0 * 60, stage), took(21.0, stage)
    kept(store, procedure_id, wrong)
    kept(store, procedure_id, right)
    found = store.actuals.of_procedure(LOCAL, procedure_id).items
    assert [each.state for each in found] == [State.REPLACED, State.COUNTED]
    assert store.estimates.of_shop(LOCAL)[stage].sums == sums_of([log(21 / 20)])
    # The wrong one sent once more, late: it is known already.
    (late,) = store.actuals.keep(LOCAL, procedure_id, [wrong])
    assert (late.repeated, late.actual.state) == (True, State.REPLACED)
    assert jobs(store, stage) == 1


def test_each_job_counts(store: Store, procedure: NewProcedure, stage: str) -> None:
    for _ in range(3):
        store.actuals.keep(LOCAL, procedure(), [took(22.0, stage)])
    assert jobs(store, stage) == 3


def test_each_shop_learns_for_itself(
    store: Store, procedure: NewProcedure, issue: Callable[..., KeptProcedure], stage: str
) -> None:
    other = store.shops.create(f"shop-{uuid4().hex[:8]}", "Another invented shop", "test").id
    own_id, others_id = procedure(), store.keep_procedure(other, issue(), CRACK).id
    store.actuals.keep(LOCAL, own_id, [took(22.0, stage)])
    store.actuals.keep(other, others_id, [took(35.0, stage)])
    for shop, work_min in ((LOCAL, 22.0), (other, 35.0)):
        assert store.estimates.of_shop(shop)[stage].sums == sums_of([log(work_min / 20)])
    assert store.actuals.of_procedure(other, own_id).items == ()
    assert [each.report.spell.minutes for each in store.actuals.of_shop(other)] == [35]


def test_every_report_of_a_shop_is_exported_in_order(
    store: Store, procedure: NewProcedure, stage: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "AT_ONCE", 2)
    for work_min in (18.0, 19.0, 0.0, 21.0, 22.0):
        store.actuals.keep(LOCAL, procedure(), [took(work_min, stage)])
    found = [each for each in store.actuals.of_shop(LOCAL) if each.report.stage == stage]
    assert [each.report.spell.minutes for each in found] == [18, 19, 0, 21, 22]
    numbers = [each.number for each in store.actuals.of_shop(LOCAL)]
    assert numbers == sorted(set(numbers))


def test_issuing_reads_no_reports(store: Store, procedure: NewProcedure, stage: str) -> None:
    """One row a stage, however many jobs."""
    for work_min in (18.0, 19.0, 20.0, 21.0, 22.0):
        store.actuals.keep(LOCAL, procedure(), [took(work_min, stage)])
    with store._engine.connect() as connection:
        rows = connection.execute(select(estimates).where(estimates.c.stage == stage)).all()
    assert len(rows) == 1
    assert store.estimates.learned(LOCAL, {stage: 0.3})[stage].jobs == 5


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.sampled_from((0.0, 2.0, 15.0, 19.5, 24.0, 70.0, 90.0, 1200.0)), min_size=1, max_size=6),
    st.randoms(),
)
def test_the_order_of_reports_does_not_matter(
    store: Store, procedure: NewProcedure, minutes: list[float], random: Random
) -> None:
    shuffled = list(minutes)
    random.shuffle(shuffled)
    sums = []
    for order in (minutes, shuffled):
        stage = f"stage-{uuid4().hex}"
        for work_min in order:
            store.actuals.keep(LOCAL, procedure(), [took(work_min, stage)])
        sums.append(store.estimates.of_shop(LOCAL)[stage].sums)
    assert sums[0] == sums[1]
