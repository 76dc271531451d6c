"""API2:2023 Broken Authentication (OWASP API Security Top 10, 2023)."""

from __future__ import annotations

import logging
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from keys_at_hand import NORTH, caller, is_refused, key, store_of, with_key
from packs_at_hand import line_item, told
from sqlalchemy import update

from storage.key_records import WrittenKey
from storage.tables import api_keys

PATH = "/v1/substrates"


@pytest.fixture(scope="module")
def stranger(shared_keyed: Flask) -> FlaskClient:
    """Somebody without a key."""
    return shared_keyed.test_client()


@pytest.fixture(scope="module")
def good(shared_keyed: Flask) -> WrittenKey:
    return key(shared_keyed)


def ask(client: FlaskClient, authorization: str | bytes) -> Any:
    """The header as a server passes it on: its bytes as Latin-1."""
    raw = authorization if isinstance(authorization, bytes) else authorization.encode("utf-8", "replace")
    return client.get(PATH, environ_overrides={"HTTP_AUTHORIZATION": raw.decode("latin-1")})


def test_a_key_that_holds_is_served(shared_keyed: Flask, good: WrittenKey) -> None:
    assert with_key(shared_keyed, good).get(PATH).status_code == 200


@pytest.mark.parametrize("scheme", ["Bearer ", "bearer ", "BEARER  "])
def test_the_scheme_is_read_whatever_its_case(stranger: FlaskClient, good: WrittenKey, scheme: str) -> None:
    assert ask(stranger, f"{scheme}{good.text}").status_code == 200


def test_who_sends_no_key_is_refused_before_anything_is_read(stranger: FlaskClient) -> None:
    assert is_refused(stranger.get(PATH))
    assert is_refused(stranger.post("/v1/procedures", json=line_item()))
    assert is_refused(stranger.post("/v1/procedures", data=b"\xff not JSON", content_type="text/plain"))
    assert is_refused(stranger.get("/v1/procedures?unknown=1&unknown=2"))
    assert is_refused(stranger.get("/v1/packs/active"))


def test_nobody_is_told_what_is_wrong_with_a_key(shared_keyed: Flask, stranger: FlaskClient) -> None:
    """Unknown, wrong, expired, revoked and rotated away: one and the same answer."""
    good, store = key(shared_keyed), store_of(shared_keyed)
    revoked, rotated = key(shared_keyed), key(shared_keyed)
    expired = key(shared_keyed, NORTH, "line-items", expires_at=datetime.now(UTC))
    store.keys.revoke(revoked.prefix, "command line")
    store.keys.rotate(rotated.prefix, datetime.now(UTC), "command line")
    wrong = WrittenKey(good.prefix, revoked.secret)
    for written in (WrittenKey.new(), wrong, expired, revoked, rotated):
        assert is_refused(with_key(shared_keyed, written).get(PATH))


def test_a_key_is_refused_from_the_moment_it_is_revoked(shared_keyed: Flask) -> None:
    written = key(shared_keyed)
    client = with_key(shared_keyed, written)
    assert client.get(PATH).status_code == 200
    store_of(shared_keyed).keys.revoke(written.prefix, "command line")
    assert is_refused(client.get(PATH))


def test_a_key_is_refused_from_the_moment_it_expires(shared_keyed: Flask) -> None:
    written = key(shared_keyed, expires_at=datetime.now(UTC) + timedelta(hours=1))
    client = with_key(shared_keyed, written)
    assert client.get(PATH).status_code == 200
    with store_of(shared_keyed)._engine.begin() as connection:
        past = datetime.now(UTC) - timedelta(microseconds=1)
        connection.execute(
            update(api_keys).where(api_keys.c.prefix == written.prefix).values(expires_at=past)
        )
    assert is_refused(client.get(PATH))


def test_an_old_key_is_served_beside_the_new_one_while_its_grace_lasts(shared_keyed: Flask) -> None:
    old = key(shared_keyed)
    until = datetime.now(UTC) + timedelta(hours=1)
    new = store_of(shared_keyed).keys.rotate(old.prefix, until, "command line")
    assert with_key(shared_keyed, old).get(PATH).status_code == 200
    assert with_key(shared_keyed, new).get(PATH).status_code == 200


def test_a_key_is_read_from_its_header_alone(shared_keyed: Flask, good: WrittenKey) -> None:
    """Not from the address, where logs keep it, nor from a cookie, which browsers send unasked."""
    client = shared_keyed.test_client()
    for name in ("key", "api_key", "access_token", "Authorization"):
        assert is_refused(client.get(PATH, query_string={name: good.text}))
        assert is_refused(client.get(PATH, headers={"Cookie": f"{name}={good.text}"}))
    assert is_refused(client.get(PATH, headers={"X-Api-Key": good.text}))
    assert is_refused(client.get(PATH, auth=("user", good.text)))


def test_several_authorization_headers_are_refused(stranger: FlaskClient, good: WrittenKey) -> None:
    """Servers join them; it is not for us to say which one is meant."""
    one = f"Bearer {good.text}"
    for joined in (f"{one},{one}", f"{one}, {one}", f"Bearer x, {one}", f"{one}, Basic eDp5"):
        assert is_refused(ask(stranger, joined))
    headers = [("Authorization", one), ("Authorization", "Bearer x")]
    assert is_refused(stranger.get(PATH, headers=headers))


@given(st.text() | st.binary(max_size=300) | st.integers(1, 200_000).map(lambda size: "Bearer " + "a" * size))
def test_whatever_is_sent_as_authorization_is_refused(
    stranger: FlaskClient, good: WrittenKey, sent: str | bytes
) -> None:
    assert is_refused(ask(stranger, sent))


@given(
    before=st.text(st.characters(codec="utf-8"), max_size=5),
    after=st.text(st.characters(codec="utf-8"), max_size=5),
    scheme=st.sampled_from(["Bearer ", "Bearer", "Basic ", "Digest ", "", "Bearer\t", "Bearer\xa0"]),
)
def test_a_good_key_in_a_wrong_dress_is_refused(
    stranger: FlaskClient, good: WrittenKey, before: str, after: str, scheme: str
) -> None:
    sent = f"{scheme}{before}{good.text}{after}"
    expected = sent.lower().startswith("bearer ") and sent.lower()[7:].lstrip(" ") == good.text
    assert is_refused(ask(stranger, sent)) != expected


@given(position=st.integers(0, 39), letter=st.sampled_from("abcdefghijklmnopqrstuvwxyz234567"))
def test_a_secret_with_another_letter_is_refused(
    stranger: FlaskClient, good: WrittenKey, position: int, letter: str
) -> None:
    secret = good.secret[:position] + letter + good.secret[position + 1 :]
    response = ask(stranger, f"Bearer {WrittenKey(good.prefix, secret).text}")
    assert is_refused(response) == (secret != good.secret)


def test_what_is_open_needs_no_key_and_does_not_mind_a_wrong_one(stranger: FlaskClient) -> None:
    for path in ("/", "/livez", "/readyz", "/openapi.json", "/docs", "/problems", "/problems/key-refused"):
        assert stranger.get(path).status_code == 200
        assert stranger.get(path, headers={"Authorization": "Bearer x"}).status_code == 200


def test_the_log_tells_the_prefix_and_never_a_secret(
    shared_keyed: Flask, stranger: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    good, gone = key(shared_keyed), key(shared_keyed)
    store_of(shared_keyed).keys.revoke(gone.prefix, "command line")
    with caplog.at_level(logging.DEBUG):
        with_key(shared_keyed, good).get(PATH)
        with_key(shared_keyed, gone).get(PATH)
        ask(stranger, "Bearer \n forged entry")
    assert f"the key {gone.prefix} was refused" in caplog.text
    assert "forged entry" not in caplog.text
    assert good.secret not in caplog.text
    assert gone.secret not in caplog.text


def test_that_a_key_is_in_use_is_remembered(shared_keyed: Flask) -> None:
    written = key(shared_keyed)
    with_key(shared_keyed, written).get(PATH)
    (found,) = (each for each in store_of(shared_keyed).keys.all() if each.prefix == written.prefix)
    assert found.last_used_at is not None
    assert datetime.now(UTC) - found.last_used_at < timedelta(hours=2)


def test_a_wrong_address_needs_no_key_to_be_told(stranger: FlaskClient) -> None:
    told(stranger.get("/v1/nowhere"), 404, "not-found")


def test_a_key_of_one_scope_is_a_key(shared_keyed: Flask) -> None:
    client = caller(shared_keyed, NORTH, "line-items")
    assert client.post("/v1/procedures", json=line_item()).status_code == 201
