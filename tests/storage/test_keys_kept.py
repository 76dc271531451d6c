from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from storage.faults import KeyEnded, KeyUnknown, ScopesRefused, ShopRefused, ShopUnknown
from storage.key_records import SCOPES, Key, WrittenKey, digest_of, scopes_of
from storage.shops import LOCAL
from storage.store import Store, open_store
from storage.tables import api_keys, audit

NOW = datetime(2027, 3, 1, 8, 15, tzinfo=UTC)
HOUR = timedelta(hours=1)

texts = st.text(st.characters(codec="utf-8"))


def entries(store: Store) -> list[dict[str, object]]:
    with store._engine.connect() as connection:
        return [
            json.loads(text) for text in connection.scalars(select(audit.c.entry).order_by(audit.c.number))
        ]


def kept(store: Store, written: WrittenKey) -> Key:
    return next(key for key in store.keys.all() if key.prefix == written.prefix)


def soon() -> datetime:
    return datetime.now(UTC) + HOUR


def test_a_key_is_found_by_its_secret_and_by_no_other(empty_store: Store) -> None:
    written = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line")
    other = empty_store.keys.create(LOCAL, "office", ["admin", "rules"], "command line")
    found = empty_store.keys.find(written, NOW)
    assert found is not None
    assert (found.shop, found.name, found.scopes) == (LOCAL, "front desk", ("line-items",))
    assert kept(empty_store, other).scopes == ("rules", "admin")
    assert empty_store.keys.find(WrittenKey(written.prefix, other.secret), NOW) is None
    assert empty_store.keys.find(WrittenKey("a" * 8, written.secret), NOW) is None


def test_the_secret_is_nowhere_in_the_database(empty_store: Store) -> None:
    written = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line")
    with empty_store._engine.connect() as connection:
        stored = [*connection.execute(select(api_keys)), *connection.execute(select(audit))]
    assert not any(written.secret in str(value) for row in stored for value in row)
    assert kept(empty_store, written).digest == digest_of(written.secret)
    assert written.secret not in repr(written)


def test_a_key_holds_until_it_expires(empty_store: Store) -> None:
    written = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line", NOW)
    assert empty_store.keys.find(written, NOW - timedelta(microseconds=1)) is not None
    assert empty_store.keys.find(written, NOW) is None


def test_a_revoked_key_holds_no_longer_and_is_revoked_once(empty_store: Store) -> None:
    written = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line")
    empty_store.keys.revoke(written.prefix, "command line")
    first = kept(empty_store, written).revoked_at
    empty_store.keys.revoke(written.prefix, "command line")
    assert first is not None
    assert kept(empty_store, written).revoked_at == first
    assert empty_store.keys.find(written, datetime.now(UTC)) is None
    assert [each["action"] for each in entries(empty_store)] == ["key.created", "key.revoked"]


def test_a_rotated_key_holds_beside_the_new_one_for_a_while(empty_store: Store) -> None:
    old = empty_store.keys.create(LOCAL, "front desk", ["line-items", "rules"], "command line")
    until = soon()
    new = empty_store.keys.rotate(old.prefix, until, "command line")
    assert kept(empty_store, new).scopes == ("line-items", "rules")
    assert kept(empty_store, new).expires_at is None
    assert empty_store.keys.find(old, until - timedelta(seconds=1)) is not None
    assert empty_store.keys.find(old, until) is None
    assert empty_store.keys.find(new, until) is not None
    with pytest.raises(KeyEnded, match=f"was rotated to {new.prefix}; rotate that one"):
        empty_store.keys.rotate(old.prefix, until, "command line")


def test_rotation_never_lets_a_key_hold_longer(empty_store: Store) -> None:
    ends = soon()
    old = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line", ends)
    new = empty_store.keys.rotate(old.prefix, ends + HOUR, "command line")
    assert kept(empty_store, old).expires_at == ends
    made = kept(empty_store, new)
    assert made.expires_at is not None
    # As long as the old one was made for.
    assert HOUR - timedelta(minutes=1) < made.expires_at - made.created_at <= HOUR


def test_what_holds_no_longer_is_not_rotated(empty_store: Store) -> None:
    revoked = empty_store.keys.create(LOCAL, "a", ["rules"], "command line")
    empty_store.keys.revoke(revoked.prefix, "command line")
    expired = empty_store.keys.create(LOCAL, "b", ["rules"], "command line", datetime.now(UTC))
    for written in (revoked, expired):
        with pytest.raises(KeyEnded, match="holds no longer; create another one"):
            empty_store.keys.rotate(written.prefix, soon(), "command line")
    assert len(empty_store.keys.all()) == 2


def test_an_unknown_prefix_is_told(empty_store: Store) -> None:
    calls: list[Callable[[], object]] = [
        lambda: empty_store.keys.revoke("x" * 500, "command line"),
        lambda: empty_store.keys.rotate("x" * 500, soon(), "command line"),
    ]
    for call in calls:
        with pytest.raises(KeyUnknown, match=r"no key has the prefix 'x{80}'; `stagewright keys list`"):
            call()


def test_a_key_belongs_to_a_shop_that_there_is(empty_store: Store) -> None:
    with pytest.raises(ShopUnknown, match="there is no shop 'north'; there are local"):
        empty_store.keys.create("north", "front desk", ["line-items"], "command line")
    with pytest.raises(ShopUnknown):
        empty_store.keys.all("north")
    empty_store.shops.create("north", "The shop in the north", "command line")
    written = empty_store.keys.create("north", "front desk", ["line-items"], "command line")
    assert [key.prefix for key in empty_store.keys.all("north")] == [written.prefix]
    assert empty_store.keys.all(LOCAL) == ()


def test_the_first_key_is_made_once(database_url: str) -> None:
    store = open_store(database_url)
    had_some = bool(store.keys.all())
    together = Barrier(2)

    def start() -> WrittenKey | None:
        together.wait()
        return store.keys.create_first("start")

    with ThreadPoolExecutor(2) as threads:
        made = [running.result() for running in [threads.submit(start), threads.submit(start)]]
    assert sum(written is not None for written in made) == (0 if had_some else 1)
    assert store.keys.create_first("start") is None
    store.close()


def test_the_first_key_is_for_everything(empty_store: Store) -> None:
    written = empty_store.keys.create_first("start")
    assert written is not None
    found = empty_store.keys.find(written, NOW)
    assert found is not None
    assert (found.shop, found.scopes) == (LOCAL, tuple(SCOPES))


def test_when_a_key_was_used_is_true_to_the_hour_and_seldom_written(empty_store: Store) -> None:
    written = empty_store.keys.create(LOCAL, "front desk", ["line-items"], "command line")
    seen = []
    for minutes in (0, 44, 45, 60, 105):
        empty_store.keys.note_use(kept(empty_store, written), NOW + timedelta(minutes=minutes))
        seen.append(kept(empty_store, written).last_used_at)
    eight, nine, ten = (NOW.replace(hour=hour, minute=0) for hour in (8, 9, 10))
    assert seen == [eight, eight, nine, nine, ten]


def test_every_change_is_in_the_audit_with_who_it_was_for(empty_store: Store) -> None:
    empty_store.shops.create("north", "The shop in the north", "command line")
    old = empty_store.keys.create("north", "front desk", ["line-items"], "command line", soon())
    new = empty_store.keys.rotate(old.prefix, soon(), "command line")
    empty_store.keys.revoke(old.prefix, "command line")
    told = entries(empty_store)
    assert [(each["action"], each["shop"], each.get("key")) for each in told] == [
        ("shop.created", "north", None),
        ("key.created", "north", old.prefix),
        ("key.created", "north", new.prefix),
        ("key.rotated", "north", old.prefix),
        ("key.revoked", "north", old.prefix),
    ]
    assert told[3]["replaced_by"] == new.prefix
    assert empty_store.audit.verify().faults == ()


def test_a_key_that_is_not_made_leaves_no_entry(empty_store: Store) -> None:
    with pytest.raises(
        ScopesRefused, match="'everything' is not a scope; there are line-items, rules, admin"
    ):
        empty_store.keys.create(LOCAL, "x", ["everything"], "command line")
    with pytest.raises(ScopesRefused, match="a key without a scope allows nothing"):
        empty_store.keys.create(LOCAL, "x", [], "command line")
    assert entries(empty_store) == []


@pytest.mark.parametrize(
    "shop_id", ["", "North", "1north", "a--b", "a-", "nörth", "a b", "a" * 57, "a~b", "a\n"]
)
def test_an_id_that_is_not_written_like_one_is_refused(empty_store: Store, shop_id: str) -> None:
    with pytest.raises(ShopRefused, match="write small letters, digits and single hyphens"):
        empty_store.shops.create(shop_id, "x", "command line")


def test_an_id_is_given_once(empty_store: Store) -> None:
    with pytest.raises(ShopRefused, match="there is a shop 'local' already"):
        empty_store.shops.create(LOCAL, "x", "command line")
    assert [each.id for each in empty_store.shops.all()] == [LOCAL]
    assert entries(empty_store) == []


def test_a_written_key_has_at_least_128_random_bits_and_is_read_back() -> None:
    made = [WrittenKey.new() for _ in range(200)]
    assert len({written.secret for written in made}) == 200
    # 40 letters of an alphabet of 32.
    assert all(len(written.secret) * 5 >= 128 for written in made)
    assert {letter for written in made for letter in written.secret} == set(
        "abcdefghijklmnopqrstuvwxyz234567"
    )
    assert all(WrittenKey.read(written.text) == written for written in made)


@given(st.text() | st.from_regex(r"sw_(sandbox_)?[a-z2-7]{8}_[a-z2-7]{39,41}\s?", fullmatch=True))
def test_what_is_read_as_a_key_is_written_like_that(text: str) -> None:
    written = WrittenKey.read(text)
    assert written is None or written.text == text


@given(texts, texts)
def test_a_secret_opens_its_own_key_alone(secret: str, tried: str) -> None:
    """Any text may be tried, also one outside ASCII."""
    key = Key("p", LOCAL, "x", digest_of(secret), ("rules",), NOW)
    assert key.opens_with(WrittenKey("p", secret))
    assert key.opens_with(WrittenKey("p", tried)) == (tried == secret)


@given(st.lists(st.sampled_from(list(SCOPES)), min_size=1))
def test_scopes_are_kept_once_and_in_order(named: list[str]) -> None:
    found = scopes_of(named)
    assert set(found) == set(named)
    assert list(found) == sorted(set(named), key=list(SCOPES).index)
