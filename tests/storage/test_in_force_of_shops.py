"""What holds for whom and when, against a model: whatever shops decide, in whatever order, for whenever."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from kept_versions import keep_proven, nothing, versions

from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack
from storage.shops import LOCAL
from storage.store import Store, open_store

HOUR = timedelta(hours=1)

Decision = tuple[str, str | None, datetime]
"""Who decided for which digest, from when on."""


class Shared:
    """A store and packs for its shops; too large to be shown with an example that fails, so no dataclass."""

    def __init__(self, store: Store, packs: list[Pack]) -> None:
        self.store, self.packs = store, packs


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shared]:
    store = open_store(f"sqlite:///{tmp_path_factory.mktemp('shared')}/store.sqlite3")
    packs = versions(load_folder(BASE_PACK), 3)
    keep_proven(store, *packs)
    store.activations.activate(LOCAL, packs[0].digest, 0, "start", nothing)
    yield Shared(store, packs)
    store.close()


def expected(taken: list[Decision], shop: str, at: datetime) -> str | None:
    """The last decision whose moment has come; that of the service where the shop has none."""
    held = [digest for who, digest, since in taken if who == shop and since <= at]
    own = held[-1] if held else None
    return expected(taken, LOCAL, at) if own is None and shop != LOCAL else own


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(0, 2), st.sampled_from([0, 1, 2, None]), st.integers(0, 3)),
        max_size=10,
    )
)
def test_what_is_in_force_is_what_was_decided_last_of_what_has_come(
    shared: Shared, steps: list[tuple[int, int | None, int]]
) -> None:
    store, packs = shared.store, shared.packs
    shops = [f"s{uuid4().hex}" for _ in range(2)]
    for shop in shops:
        store.shops.create(shop, shop, "command line")
        keep_proven(store, *packs, shop=shop)
    start = datetime.now(UTC)
    service = store.activations.decided(LOCAL, start)
    assert service is not None
    taken: list[Decision] = [(LOCAL, service.digest, start - HOUR)]
    coming = store.activations.upcoming(LOCAL, start)
    taken += [(LOCAL, each.digest, each.effective_from) for each in coming]
    for who, which, hours in steps:
        shop = [LOCAL, *shops][who]
        digest = packs[which or 0].digest if which is not None or shop == LOCAL else None
        last = store.activations.last(shop)
        since = datetime.now(UTC) + hours * HOUR if hours else None
        entered = store.activations.activate(shop, digest, last.number if last else 0, "api", nothing, since)
        taken.append((shop, digest, entered.effective_from))
    now = datetime.now(UTC)
    for shop in (LOCAL, *shops):
        for hours in range(5):
            at = now + (hours + 0.5) * HOUR if hours else now
            found = store.activations.in_force(shop, at)
            assert (found and found.pack_digest) == expected(taken, shop, at)
