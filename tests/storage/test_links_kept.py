from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import uuid4

import pytest
from sqlalchemy import select

from storage.audit import Who
from storage.database import engine_for
from storage.links import Links
from storage.store import Store
from storage.tables import audit


@pytest.fixture
def shop(store: Store) -> str:
    """A shop that no other test uses, as the PostgreSQL schema is shared."""
    named = f"s{uuid4().hex[:12]}"
    store.shops.create(named, "Invented", "command line")
    return named


def entries(store: Store, shop: str) -> list[str]:
    """What the audit says about links of a shop; the chain must be whole."""
    assert store.audit.verify().faults == ()
    with store._engine.connect() as connection:
        found = connection.scalars(select(audit.c.entry).order_by(audit.c.number)).all()
    return [entry for entry in found if '"links.' in entry and f'"{shop}"' in entry]


def test_a_secret_is_made_once_and_stays(store: Store, shop: str) -> None:
    made = store.links.secret_of(shop)
    assert store.links.secret_of(shop) == made
    assert store.links.find(made.handle) == made
    assert re.fullmatch("[0-9a-f]{64}", made.secret)
    assert made.version == 1
    assert shop not in made.handle
    assert made.secret not in repr(made)


def test_every_shop_has_its_own(store: Store, shop: str) -> None:
    mine, theirs = store.links.secret_of(shop), store.links.secret_of("local")
    assert mine.handle != theirs.handle
    assert mine.secret != theirs.secret
    store.links.revoke(shop, "command line")
    assert store.links.secret_of("local") == theirs


def test_a_handle_nobody_has_is_found_nowhere(store: Store) -> None:
    assert store.links.find("a" * 16) is None


def test_many_processes_that_ask_first_get_the_same(database_url: str, store: Store, shop: str) -> None:
    together = Barrier(6)

    def ask() -> object:
        engine = engine_for(database_url)
        together.wait()
        found = Links(engine).secret_of(shop)
        engine.dispose()
        return found

    with ThreadPoolExecutor(6) as threads:
        found = [each.result() for each in [threads.submit(ask) for _ in range(6)]]
    assert found == [store.links.secret_of(shop)] * 6


def test_a_new_secret_takes_the_place_of_the_old_one_and_is_entered(store: Store, shop: str) -> None:
    old = store.links.secret_of(shop)
    store.links.revoke(shop, "api", Who(shop, "k3vq7m2a"))
    new = store.links.secret_of(shop)
    assert (new.handle, new.version) == (old.handle, 2)
    assert new.secret != old.secret
    (entry,) = entries(store, shop)
    assert '"action":"links.revoked"' in entry
    assert f'"by":{{"key":"k3vq7m2a","shop":"{shop}"}}' in entry
    assert old.secret not in entry
    assert new.secret not in entry


def test_where_there_were_no_links_none_are_ended(store: Store, shop: str) -> None:
    store.links.revoke(shop, "command line")
    assert entries(store, shop) == []
    assert store.links.secret_of(shop).version == 1
