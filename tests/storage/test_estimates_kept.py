from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from math import log
from uuid import uuid4

import pytest
from kept_versions import CRACK
from sqlalchemy import select

from planning.learning.model import Spell
from planning.learning.posterior import Sums
from storage.actual_records import Report, State
from storage.audit import Who
from storage.faults import ShopUnknown
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import audit


@pytest.fixture
def stage() -> str:
    """A stage that no other test reports on, as the PostgreSQL schema is shared."""
    return f"stage-{uuid4().hex[:8]}"


@pytest.fixture
def report(store: Store, issue: Callable[..., KeptProcedure]) -> Callable[[str, float], str]:
    """Reports minutes on a stage of a new procedure that the catalogue gives 20, and tells its id."""

    def new(stage: str, work_min: float, procedure_id: str | None = None) -> str:
        kept = procedure_id or store.keep_procedure(LOCAL, issue(), CRACK).id
        store.actuals.keep(LOCAL, kept, [Report(stage, Spell(work_min), 20.0, 0.3)])
        return kept

    return new


def factor(store: Store, stage: str) -> float:
    found = store.estimates.learned(LOCAL, {stage: 0.3}).get(stage)
    return 1.0 if found is None else found.factor


def states(store: Store, procedure_id: str) -> list[State]:
    return [each.state for each in store.actuals.of_procedure(LOCAL, procedure_id).items]


def audited(store: Store, stage: str) -> list[str]:
    """The actions of the audit that name a stage; the chain must be whole."""
    assert store.audit.verify().faults == ()
    with store._engine.connect() as connection:
        entries = connection.scalars(select(audit.c.entry).order_by(audit.c.number)).all()
    return [entry.split('"action":"')[1].split('"')[0] for entry in entries if f'"{stage}"' in entry]


def test_a_frozen_estimate_keeps_reports_and_does_not_move(
    store: Store, report: Callable[..., str], stage: str
) -> None:
    report(stage, 30.0)
    before = factor(store, stage)
    store.estimates.freeze(LOCAL, stage, "api")
    since = datetime.now(UTC)
    procedure_id = report(stage, 40.0)
    # Neither does what other stages say of the shop move it.
    report(f"{stage}-b", 60.0)
    assert factor(store, stage) == before
    assert states(store, procedure_id) == [State.WHILE_FROZEN]
    frozen_at = store.estimates.of_shop(LOCAL)[stage].frozen_at
    assert frozen_at is not None
    assert frozen_at <= since


def test_what_came_while_frozen_counts_afterwards(
    store: Store, report: Callable[..., str], stage: str
) -> None:
    store.estimates.freeze(LOCAL, stage, "api")
    procedure_id = report(stage, 40.0)
    assert factor(store, stage) == 1.0
    store.estimates.unfreeze(LOCAL, stage, "api")
    assert states(store, procedure_id) == [State.COUNTED]
    assert store.estimates.of_shop(LOCAL)[stage].sums.count == 1
    assert store.estimates.of_shop(LOCAL)[stage].frozen_at is None
    assert factor(store, stage) > 1.1


def test_a_report_of_a_frozen_stage_that_cannot_be_is_set_aside_all_the_same(
    store: Store, report: Callable[..., str], stage: str
) -> None:
    store.estimates.freeze(LOCAL, stage, "api")
    assert states(store, report(stage, 20.0 * 60)) == [State.SET_ASIDE]


def test_a_correction_leaves_a_frozen_estimate_as_it_is(
    store: Store, report: Callable[..., str], stage: str
) -> None:
    procedure_id = report(stage, 30.0)
    before = factor(store, stage)
    store.estimates.freeze(LOCAL, stage, "api")
    report(stage, 22.0, procedure_id)
    assert factor(store, stage) == before
    assert states(store, procedure_id) == [State.REPLACED, State.WHILE_FROZEN]
    store.estimates.unfreeze(LOCAL, stage, "api")
    assert store.estimates.of_shop(LOCAL)[stage].sums.total == pytest.approx(log(22 / 20))


def test_a_reset_starts_anew_from_the_catalogue(store: Store, report: Callable[..., str], stage: str) -> None:
    old = report(stage, 40.0)
    store.estimates.reset(LOCAL, stage, "api")
    assert factor(store, stage) == 1.0
    assert states(store, old) == [State.BEFORE_RESET]
    report(stage, 22.0)
    assert store.estimates.of_shop(LOCAL)[stage].sums.count == 1
    # A correction of an old job does not make it a new one.
    report(stage, 35.0, old)
    assert states(store, old) == [State.REPLACED, State.BEFORE_RESET]
    assert store.estimates.of_shop(LOCAL)[stage].sums.count == 1
    assert store.estimates.set_aside(LOCAL).get(stage, 0) == 0


def test_a_stage_that_is_frozen_and_reset_stays_with_the_catalogue(
    store: Store, report: Callable[..., str], stage: str
) -> None:
    report(stage, 40.0)
    store.estimates.freeze(LOCAL, stage, "api")
    store.estimates.reset(LOCAL, stage, "api")
    report(stage, 40.0)
    assert factor(store, stage) == 1.0
    assert store.estimates.of_shop(LOCAL)[stage].sums == Sums()


def test_every_decision_is_in_the_audit_once(store: Store, report: Callable[..., str], stage: str) -> None:
    report(stage, 40.0)
    for _ in range(2):
        store.estimates.freeze(LOCAL, stage, "api")
    for _ in range(2):
        store.estimates.unfreeze(LOCAL, stage, "command line")
    store.estimates.reset(LOCAL, stage, "api")
    assert audited(store, stage) == ["estimate.frozen", "estimate.unfrozen", "estimate.reset"]


@pytest.mark.parametrize("decide", ["freeze", "unfreeze", "reset"])
def test_a_decision_for_a_shop_that_is_not_there_is_refused(store: Store, stage: str, decide: str) -> None:
    with pytest.raises(ShopUnknown, match="there is no shop 'elsewhere'; there are "):
        getattr(store.estimates, decide)("elsewhere", stage, "api")


def test_a_decision_says_who_asked(store: Store, stage: str) -> None:
    store.estimates.freeze(LOCAL, stage, "api", Who(LOCAL, "sw_test"))
    with store._engine.connect() as connection:
        entry = connection.scalars(select(audit.c.entry).order_by(audit.c.number.desc())).first()
    assert entry is not None
    assert '"by":{"key":"sw_test","shop":"local"}' in entry
    assert '"origin":"api"' in entry


def test_a_decision_that_fails_leaves_nothing_behind(
    store: Store, stage: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_arguments: object) -> None:
        raise RuntimeError("the entry cannot be written")

    monkeypatch.setattr("storage.audit.append", failing)
    with pytest.raises(RuntimeError):
        store.estimates.freeze(LOCAL, stage, "api")
    assert stage not in store.estimates.of_shop(LOCAL)
