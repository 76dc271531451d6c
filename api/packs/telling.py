"""Tells line items that what has come to hold concerns them, also those issued while it came to hold."""

from __future__ import annotations

import logging
from collections.abc import Callable

from api.packs.comparing import Comparison
from rules.pack import Pack
from storage.records import Activation
from storage.shops import LOCAL
from storage.store import Store

_log = logging.getLogger("stagewright")


class Telling:
    """Remembers whose line items may be untold, and tells them.

    `governing` is the decision by which a shop works, its own or that of the service. `pack_of` reads the
    pack that a decision puts in force, `pack_by` one by its digest; None where it cannot be read.
    """

    def __init__(
        self,
        store: Store,
        governing: Callable[[str], Activation],
        pack_of: Callable[[Activation], Pack | None],
        pack_by: Callable[[str], Pack | None],
    ) -> None:
        self._store = store
        self._governing = governing
        self._pack_of = pack_of
        self._pack_by = pack_by
        # In the order in which they were noted: nobody waits for who is noted again and again.
        self._untold: dict[str, None] = {}

    def note(self, shop: str) -> None:
        """Line items of a shop may be untold of the decision by which it works."""
        self._untold[self._governing(shop).shop] = None

    def some(self) -> None:
        """Tell those that go by the service, and those of one other shop, if there are any untold."""
        others = (shop for shop in list(self._untold) if shop != LOCAL)
        for shop in (LOCAL, next(others, LOCAL)):
            if shop in self._untold:
                self._tell(shop)

    def comparison(self, shop: str, pack: Pack) -> Comparison:
        """Has looked at the line items that go by a shop: little is left to do in a transaction."""
        comparison = Comparison(pack, self._pack_by)
        comparison.changed(self._store.activations.situations(shop))
        return comparison

    def _tell(self, shop: str) -> None:
        del self._untold[shop]
        activation = self._governing(shop)
        pack = self._pack_of(activation)
        if pack is None:
            _log.error("activation %d of the shop '%s' names no pack to tell of", activation.number, shop)
            return
        try:
            self._store.activations.tell(activation, self.comparison(activation.shop, pack).changed)
        except BaseException:
            self._untold[shop] = None
            raise
