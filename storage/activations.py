"""Which pack is in force when, for every shop.

An activation is one row. In force for a shop at a moment is its highest number whose `effective_from` has
come, so a later decision always prevails over an earlier one, also over one that was still to come. A shop
without one, or whose last one says so, follows what the shop `local` has put in force: it runs the service.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Engine, Select, func, insert, select

from storage import audit, superseding
from storage.audit import Who
from storage.database import guarded, writing
from storage.faults import ActivationConflict
from storage.packs import refuse_unproven
from storage.records import Activation, Situation
from storage.shops import LOCAL
from storage.superseding import Changed, newest_of_shops
from storage.tables import activations

State = tuple[int, datetime | None]
"""The number of the last audit entry, and when a decision comes to hold next."""


class Activations:
    """The activations of one database. Every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def in_force(self, shop: str, at: datetime) -> Activation | None:
        """What a shop works by at a moment, by its own decision or by that of the service.

        None before the first.
        """
        own = self.decided(shop, at)
        return self.decided(LOCAL, at) if own is None or own.follows else own

    def decided(self, shop: str, at: datetime) -> Activation | None:
        """The decision of a shop that holds at a moment; None before its first."""
        return self._first(_newest(shop).where(activations.c.effective_from <= at))

    def decided_by_shop(self, at: datetime) -> dict[str, Activation]:
        """The same of every shop that has decided."""
        query = select(activations).where(activations.c.key.in_(newest_of_shops(at)))
        return {activation.shop: activation for activation in self._all(query)}

    def state(self, at: datetime) -> State:
        """Another one after every decision, when one has come to hold, and when a shop was deleted."""
        coming = select(func.min(activations.c.effective_from)).where(activations.c.effective_from > at)
        with guarded(self._engine), self._engine.connect() as connection:
            return audit.last_number(connection), connection.scalar(coming)

    def last(self, shop: str) -> Activation | None:
        """The decision that a shop took last, whether it has come to hold or not."""
        return self._first(_newest(shop))

    def before(self, activation: Activation) -> Activation | None:
        """The decision of the same shop that held before `activation`, for another pack; or None."""
        return self._first(
            _newest(activation.shop).where(
                activations.c.number < activation.number,
                activations.c.effective_from <= activation.effective_from,
                activations.c.pack_digest.is_distinct_from(activation.pack_digest),
            )
        )

    def upcoming(self, shop: str, at: datetime) -> tuple[Activation, ...]:
        """Decisions of a shop that will hold after a moment, unless decided otherwise; first first."""
        own = activations.c.shop == shop
        held = select(func.max(activations.c.number)).where(own, activations.c.effective_from <= at)
        later = activations.c.number > func.coalesce(held.scalar_subquery(), 0)
        coming: list[Activation] = []
        for activation in self._all(_newest(shop).where(later).limit(None)):
            if not coming or activation.effective_from < coming[-1].effective_from:
                coming.append(activation)
        return tuple(reversed(coming))

    def was_decided(self, shop: str, digest: str) -> bool:
        """Whether a shop ever decided for a pack."""
        return self._first(_newest(shop).where(activations.c.pack_digest == digest)) is not None

    def activate(
        self,
        shop: str,
        digest: str | None,
        after: int,
        origin: str,
        changed: Changed,
        effective_from: datetime | None = None,
        needs_proof: bool = True,
        by: Who | None = None,
    ) -> Activation:
        """Enter the decision of a shop that comes after its number `after`, with its audit entry, as one.

        For a pack, or without one to follow the service. It holds at once, and then the line items it
        concerns are told in the same transaction; or at `effective_from`, and then `tell` is to be called.
        Raises ActivationConflict when another decision was taken meanwhile, PackNotProven when the last proof
        of the pack did not pass.
        """
        with writing(self._engine) as connection:
            now = datetime.now(UTC)
            last = connection.scalar(_newest(shop).with_only_columns(activations.c.number)) or 0
            if last != after:
                raise ActivationConflict(f"activation {last} has taken the place of {after}")
            if needs_proof and digest is not None:
                refuse_unproven(connection, shop, digest)
            key = audit.last_number(connection) + 1
            activation = Activation(key, shop, after + 1, digest, effective_from or now, now, origin)
            connection.execute(insert(activations).values(asdict(activation)))
            audit.append(connection, audit.ACTIVATED, audit.activation_details(activation), now, by)
            if effective_from is None:
                superseding.tell(connection, activation, changed, now)
        return activation

    def tell(self, activation: Activation, changed: Changed) -> None:
        """Tell the line items that a decision that holds concerns; each is told once.

        To be repeated when procedures may have been issued under another pack meanwhile.
        """
        with writing(self._engine) as connection:
            superseding.tell(connection, activation, changed, datetime.now(UTC))

    def situations(self, shop: str) -> tuple[Situation, ...]:
        """Line items that go by what a shop decides: its own; for the service those of all that follow it.

        Grouped by shop, by what they state and by the pack of their latest procedure.
        """
        with guarded(self._engine), self._engine.connect() as connection:
            return superseding.situations(connection, superseding.concerned(shop, datetime.now(UTC)))

    def _first(self, query: Select[Any]) -> Activation | None:
        return next(iter(self._all(query.limit(1))), None)

    def _all(self, query: Select[Any]) -> Sequence[Activation]:
        with guarded(self._engine), self._engine.connect() as connection:
            return [Activation(**row._mapping) for row in connection.execute(query)]


def _newest(shop: str) -> Select[Any]:
    newest_first = select(activations).order_by(activations.c.number.desc()).limit(1)
    return newest_first.where(activations.c.shop == shop)
