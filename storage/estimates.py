"""What the reports of a shop add up to, stage by stage, and what an admin does about it.

The sums are kept, so that issuing a procedure reads one small row a stage. They are always those of the
reports that count now; every change counts anew from the reports of its stage.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from math import log
from typing import Any

from sqlalchemy import Connection, Engine, Row, func, or_, select, update

from planning.learning.guards import far_off
from planning.learning.learning import learned_by_stage, shop_speed
from planning.learning.model import Learned, Reason
from planning.learning.posterior import Sums, sums_of
from storage import audit
from storage.actual_records import Estimate
from storage.audit import Who
from storage.database import guarded, inserting, writing
from storage.shops import refuse_unknown
from storage.tables import actuals, estimates

FROZEN, UNFROZEN, RESET = "estimate.frozen", "estimate.unfrozen", "estimate.reset"

REMOVED = "removed_"
"""Begins the names of the columns for reports that are no longer kept."""


class Estimates:
    """The estimates of one database. Every method may raise StoreUnavailable.

    Every decision writes an audit entry: `origin` says where it came from, `api` or `command line`, `by` who
    asked over HTTP. A decision for a shop that is not there raises ShopUnknown.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def of_shop(self, shop: str) -> dict[str, Estimate]:
        """By stage; a stage nobody reported on or decided about is not there."""
        with guarded(self._engine), self._engine.connect() as connection:
            return _of_shop(connection, shop)

    def learned(self, shop: str, spreads: Mapping[str, float]) -> dict[str, Learned]:
        """What was learned of each stage with counted jobs; `spreads` are the catalogue's."""
        return learned_from(self.of_shop(shop), spreads)

    def set_aside(self, shop: str, stage: str | None = None) -> dict[str, int]:
        """How many reports that stand are set aside, by stage or of one; those before a reset left out."""
        query = (
            select(actuals.c.stage, func.count().label("reports"))
            .where(_standing(shop), actuals.c.reason.is_not(None))
            .group_by(actuals.c.stage)
        )
        if stage is not None:
            query = query.where(actuals.c.stage == stage)
        with guarded(self._engine), self._engine.connect() as connection:
            return {row.stage: row.reports for row in connection.execute(query)}

    def freeze(self, shop: str, stage: str, origin: str, by: Who | None = None) -> None:
        """Hold an estimate as it is: later reports are kept and do not move it. Once is enough."""
        with self._deciding(shop) as connection:
            now, found = datetime.now(UTC), _of_shop(connection, shop)
            if stage in found and found[stage].frozen_at is not None:
                return
            last = connection.scalar(select(func.max(actuals.c.number))) or 0
            speed = shop_speed({name: each.sums for name, each in found.items()})
            _put(connection, shop, stage, frozen_at=now, frozen_after=last, frozen_speed=speed)
            audit.append(connection, FROZEN, _told(shop, stage, origin), now, by)

    def unfreeze(self, shop: str, stage: str, origin: str, by: Who | None = None) -> None:
        """Let reports move an estimate again, those that came while it was frozen too. Once is enough."""
        with self._deciding(shop) as connection:
            found = _of_shop(connection, shop).get(stage)
            if found is None or found.frozen_at is None:
                return
            _put(connection, shop, stage, frozen_at=None, frozen_after=None, frozen_speed=None)
            recount(connection, shop, stage)
            audit.append(connection, UNFROZEN, _told(shop, stage, origin), datetime.now(UTC), by)

    def reset(self, shop: str, stage: str, origin: str, by: Who | None = None) -> None:
        """Start an estimate anew from the catalogue: reports so far are kept and no longer count."""
        with self._deciding(shop) as connection:
            now = datetime.now(UTC)
            found = _of_shop(connection, shop).get(stage, Estimate(stage))
            connection.execute(
                update(actuals)
                .where(actuals.c.shop == shop, actuals.c.stage == stage)
                .values(before_reset=True)
            )
            _put(connection, shop, stage, reset_at=now, **_columns(Sums()), **_columns(Sums(), REMOVED))
            told = {**_told(shop, stage, origin), "jobs": found.sums.count}
            audit.append(connection, RESET, told, now, by)

    @contextmanager
    def _deciding(self, shop: str) -> Iterator[Connection]:
        with writing(self._engine) as connection:
            refuse_unknown(connection, shop)
            yield connection


def learned_from(found: Mapping[str, Estimate], spreads: Mapping[str, float]) -> dict[str, Learned]:
    """What was learned of each stage with counted jobs; `found` are all estimates of a shop, by stage."""
    held = {stage: each.frozen_speed for stage, each in found.items() if each.frozen_speed is not None}
    return learned_by_stage({stage: each.sums for stage, each in found.items()}, held, spreads)


def recount(connection: Connection, shop: str, stage: str) -> None:
    """Judge the reports of a stage anew, and keep the sums of those that count.

    Of a frozen estimate only the reports that came since are judged, and the sums stay.
    """
    query = _JUDGED.where(_standing(shop), actuals.c.stage == stage, _POSSIBLE)
    rows = connection.execute(query.order_by(actuals.c.number)).all()
    removed, frozen_after = _removed(connection, shop, stage)
    observed = [log(row.work_min / row.predicted_min) for row in rows]
    far = far_off(observed, max((row.predicted_spread for row in rows), default=0.0), removed)
    for row, is_far in zip(rows, far, strict=True):
        if is_far != (row.reason is not None) and (frozen_after is None or row.number > frozen_after):
            reason = Reason.FAR_OFF.value if is_far else None
            connection.execute(update(actuals).where(actuals.c.number == row.number).values(reason=reason))
    if frozen_after is None:
        counted = (value for value, is_far in zip(observed, far, strict=True) if not is_far)
        _put(connection, shop, stage, **_columns(removed + sums_of(counted)))


def keep_sums(connection: Connection, shop: str, procedure_ids: Collection[str]) -> None:
    """Of reports on these procedures, which are about to be removed, keep what those that count add up to."""
    query = _JUDGED.where(
        _standing(shop), actuals.c.reason.is_(None), actuals.c.procedure_id.in_(procedure_ids)
    )
    by_stage: dict[str, list[float]] = {}
    for row in connection.execute(query.add_columns(actuals.c.stage)):
        by_stage.setdefault(row.stage, []).append(log(row.work_min / row.predicted_min))
    for stage, observed in by_stage.items():
        removed, _ = _removed(connection, shop, stage)
        _put(connection, shop, stage, **_columns(removed + sums_of(observed), REMOVED))


def _removed(connection: Connection, shop: str, stage: str) -> tuple[Sums, int | None]:
    """What reports that are no longer kept add up to, and after which report the estimate is frozen."""
    row = connection.execute(
        select(estimates).where(estimates.c.shop == shop, estimates.c.stage == stage)
    ).first()
    if row is None:
        return Sums(), None
    return Sums(row.removed_jobs, row.removed_total, row.removed_squares), row.frozen_after


_JUDGED = select(
    actuals.c.number,
    actuals.c.work_min,
    actuals.c.predicted_min,
    actuals.c.predicted_spread,
    actuals.c.reason,
)
_POSSIBLE = or_(actuals.c.reason.is_(None), actuals.c.reason == Reason.FAR_OFF.value)


def _standing(shop: str) -> Any:
    """Reports that neither a correction nor a reset has put out of use."""
    return (actuals.c.shop == shop) & actuals.c.replaced_by.is_(None) & ~actuals.c.before_reset


def _of_shop(connection: Connection, shop: str) -> dict[str, Estimate]:
    query = select(estimates).where(estimates.c.shop == shop).order_by(estimates.c.stage)
    return {row.stage: _estimate(row) for row in connection.execute(query)}


def _estimate(row: Row[Any]) -> Estimate:
    return Estimate(
        stage=row.stage,
        sums=Sums(row.jobs, row.total, row.squares),
        frozen_at=row.frozen_at,
        frozen_speed=row.frozen_speed,
        reset_at=row.reset_at,
    )


def _columns(sums: Sums, prefix: str = "") -> dict[str, Any]:
    return {f"{prefix}jobs": sums.count, f"{prefix}total": sums.total, f"{prefix}squares": sums.squares}


def _put(connection: Connection, shop: str, stage: str, **columns: Any) -> None:
    """Set some columns of a stage's row, which is begun without any job."""
    new = {"shop": shop, "stage": stage, **_columns(Sums()), **columns}
    connection.execute(
        inserting(connection, estimates)
        .values(new)
        .on_conflict_do_update(index_elements=estimates.primary_key, set_=columns)
    )


def _told(shop: str, stage: str, origin: str) -> dict[str, Any]:
    return {"shop": shop, "stage": stage, "origin": origin}
