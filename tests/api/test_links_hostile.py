"""What is not a link that the service gave out opens nothing, and is told nothing more."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import md5, sha1, sha512
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import example, given, settings
from hypothesis import strategies as st
from itsdangerous import Signer, URLSafeSerializer, URLSafeTimedSerializer
from keys_at_hand import NORTH, SOUTH, caller, store_of
from packs_at_hand import issue
from test_links import given as link
from test_links import is_refused

from api.links.tokens import Claims, is_genuine, read, written
from schemas.links import OPENED, PROCEDURE, TIMELINE
from storage.links import LinkSecret

SECRET = LinkSecret(NORTH, "a" * 16, 1, "0f" * 32)
CLAIMS = Claims("a" * 16, 1, datetime(2027, 3, 2, 8, tzinfo=UTC), "pr-" + "0" * 32)
GENUINE = written(CLAIMS, TIMELINE, SECRET)


def is_accepted(token: str, opens: str = TIMELINE, secret: LinkSecret = SECRET) -> bool:
    claims = read(token)
    return claims is not None and is_genuine(token, claims, opens, secret)


def test_what_was_signed_is_read_as_it_was_written() -> None:
    assert read(GENUINE) == CLAIMS
    assert is_accepted(GENUINE)


@given(st.integers(0, len(GENUINE) - 1), st.integers(1, 255))
def test_no_changed_byte_is_ever_accepted(place: int, change: int) -> None:
    changed = bytearray(GENUINE.encode())
    changed[place] ^= change
    assert not is_accepted(changed.decode("latin-1"))


@pytest.mark.parametrize("place", range(len(GENUINE)))
def test_no_flipped_bit_is_ever_accepted(place: int) -> None:
    """All of them: the last character of a signature has bits that a reader of base64 would not see."""
    for bit in range(8):
        changed = bytearray(GENUINE.encode())
        changed[place] ^= 1 << bit
        assert not is_accepted(changed.decode("latin-1"))


@given(st.text(max_size=200))
@example(GENUINE + "=")
@example(GENUINE + "\n")
@example(GENUINE[:-1])
@example("." + GENUINE)
@example(GENUINE.upper())
@example(GENUINE.replace(".1.", ".01.", 1))
@example(GENUINE.replace(".1.", ".\N{ARABIC-INDIC DIGIT ONE}.", 1))
@example(GENUINE + "." + GENUINE)
def test_no_other_text_is_ever_accepted(text: str) -> None:
    assert text == GENUINE or not is_accepted(text)


MOMENTS = st.integers(1, 10**10).map(lambda seconds: datetime.fromtimestamp(seconds, UTC))
EVERY = st.builds(
    Claims,
    st.text("abcdefghijklmnopqrstuvwxyz234567", min_size=16, max_size=16),
    st.integers(1, 10**9 - 1),
    MOMENTS,
    st.text("0123456789abcdef", min_size=32, max_size=32).map("pr-{}".format),
)


@given(EVERY, EVERY, st.sampled_from(list(OPENED)), st.sampled_from(list(OPENED)))
def test_a_signature_stands_for_its_own_claims_alone(
    claims: Claims, others: Claims, opens: str, other: str
) -> None:
    secret = replace(SECRET, version=claims.version)
    token = written(claims, opens, secret)
    assert read(token) == claims
    assert is_accepted(token, other, secret) == (opens == other)
    swapped = written(others, opens, SECRET).rpartition(".")[0] + "." + token.rpartition(".")[2]
    assert is_accepted(swapped, opens, replace(secret, version=others.version)) == (claims == others)
    assert not is_accepted(token, opens, replace(secret, secret="0e" * 32))


def signed_otherwise(claims: str, secret: str) -> Iterator[str]:
    """The same claims, signed with the right secret by other means."""
    key = bytes.fromhex(secret)
    for digest in (md5, sha1, sha512):
        for derivation in ("hmac", "concat", "django-concat", "none"):
            signer = Signer(
                key, f"stagewright.links.{TIMELINE}", key_derivation=derivation, digest_method=digest
            )
            yield signer.sign(claims).decode()
    yield Signer(key).sign(claims).decode()
    yield Signer(secret, f"stagewright.links.{TIMELINE}").sign(claims).decode()
    yield str(URLSafeSerializer(key).dumps(claims.split(".")))
    yield str(URLSafeTimedSerializer(key).dumps(claims.split(".")))
    header, body = (_base64(json.dumps(part)) for part in ({"alg": "none"}, {"claims": claims}))
    yield f"{header}.{body}."
    yield f"{claims}."
    yield f"{claims}.{'A' * 43}"


def _base64(text: str) -> str:
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def test_the_right_secret_with_other_means_is_not_accepted() -> None:
    claims = GENUINE.rpartition(".")[0]
    found = list(signed_otherwise(claims, SECRET.secret))
    assert len(found) == 19
    assert not any(map(is_accepted, found))


@pytest.fixture(scope="module")
def token(shared_keyed: Flask) -> str:
    """Of a link that opens a timeline."""
    north = caller(shared_keyed, NORTH)
    return link(north, issue(north)["id"]).rpartition("/")[2]


def opened(shared_keyed: Flask, token: str, opens: str = TIMELINE) -> Any:
    return shared_keyed.test_client().get(f"/l/{opens}/{quote(token, safe='')}")


@settings(deadline=None, max_examples=60)
@given(data=st.data())
def test_no_changed_link_opens_anything(shared_keyed: Flask, token: str, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(token) - 1))
    character = data.draw(st.characters(codec="utf-8", exclude_characters="/\\"))
    changed = token[:place] + character + token[place + 1 :]
    response = opened(shared_keyed, changed)
    assert response.status_code == 200 if changed == token else is_refused(response)


@pytest.mark.parametrize(
    "text",
    [
        "x",
        "a" * 16,
        "." * 5,
        "\N{AUTOMOBILE}" * 40,
        "\x00",
        "\n",
        "' OR '1'='1",
        "..",
        "%",
        "x" * 60_000,
        "a" * 16 + ".1." + "9" * 50_000 + ".pr-" + "0" * 32 + "." + "A" * 43,
        "a" * 16 + ".1.99999999999.pr-" + "0" * 32 + "." + "A" * 43,
        GENUINE,
    ],
    ids=lambda text: f"{text[:20]!a} ({len(text)})",
)
@pytest.mark.parametrize("opens", list(OPENED))
def test_any_other_text_is_refused_alike(shared_keyed: Flask, text: str, opens: str) -> None:
    assert is_refused(opened(shared_keyed, text, opens))


@pytest.mark.parametrize("length", [0, 1, 16, 50, -44, -43, -1])
def test_a_truncated_link_is_refused(shared_keyed: Flask, token: str, length: int) -> None:
    response = opened(shared_keyed, token[:length] if length else "")
    assert is_refused(response) if length else response.status_code == 404


def test_claims_of_one_link_do_not_go_with_the_signature_of_another(shared_keyed: Flask, token: str) -> None:
    clients = {shop: caller(shared_keyed, shop) for shop in (NORTH, SOUTH)}
    theirs = link(clients[SOUTH], issue(clients[SOUTH])["id"]).rpartition("/")[2]
    second = link(clients[NORTH], issue(clients[NORTH], reference="R2")["id"]).rpartition("/")[2]
    longer = link(clients[NORTH], token.split(".")[3], holds_min=40_000).rpartition("/")[2]
    for other in (theirs, second, longer):
        for place in range(5):
            mixed = token.split(".")
            mixed[place] = other.split(".")[place]
            if ".".join(mixed) not in (token, other):
                assert is_refused(opened(shared_keyed, ".".join(mixed))), place
        assert opened(shared_keyed, other).status_code == 200


def test_who_knows_the_secret_of_one_shop_opens_nothing_of_another(shared_keyed: Flask, token: str) -> None:
    """Signed with the secret of south, claiming to be of north."""
    store = store_of(shared_keyed)
    north, south = store.links.secret_of(NORTH), store.links.secret_of(SOUTH)
    claims = read(token)
    assert claims is not None
    assert written(claims, TIMELINE, north) == token
    assert is_refused(opened(shared_keyed, written(claims, TIMELINE, south)))


def test_a_genuine_link_to_what_another_shop_has_opens_nothing(shared_keyed: Flask) -> None:
    """An id that north signs for, and only south was issued."""
    procedure = issue(caller(shared_keyed, SOUTH), reference="of south alone")
    secret = store_of(shared_keyed).links.secret_of(NORTH)
    ends = datetime.now(UTC).replace(microsecond=0) + timedelta(hours=1)
    claims = Claims(secret.handle, secret.version, ends, procedure["id"])
    for opens in OPENED:
        assert is_refused(opened(shared_keyed, written(claims, opens, secret), opens))


def test_a_version_that_is_not_the_present_one_is_refused_though_it_is_signed(shared_keyed: Flask) -> None:
    client: FlaskClient = caller(shared_keyed, NORTH)
    secret = store_of(shared_keyed).links.secret_of(NORTH)
    ends = datetime.now(UTC).replace(microsecond=0) + timedelta(hours=1)
    for version, status in ((secret.version, 200), (secret.version + 1, 404)):
        claims = Claims(secret.handle, version, ends, issue(client)["id"])
        assert opened(shared_keyed, written(claims, PROCEDURE, secret), PROCEDURE).status_code == status
