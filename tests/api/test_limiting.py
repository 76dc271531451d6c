"""The quota of a shop: what is told of it, and what happens where it is used up."""

from __future__ import annotations

import re
from pathlib import Path
from uuid import uuid4

import pytest
from checked_client import serving, snapshot
from flask import Flask
from keys_at_hand import NORTH, SOUTH, caller, store_of
from packs_at_hand import line_item, told
from small_pack import small_pack
from werkzeug.test import TestResponse

from api.limiting.quota import Quota, QuotaRefused

REDIS = "redis://127.0.0.1:6379/15"


def limited(folder: Path, quota: int, **more: object) -> Flask:
    more = {"rate_limit": quota, "rate_window_s": 3600, "pack_folder": small_pack(folder / "pack"), **more}
    return serving(folder / "store.sqlite3", **more)


def left(response: TestResponse) -> int:
    """What the headers say is left; they are of the form of the draft."""
    assert re.fullmatch(r'"default";q=\d+;w=3600', response.headers["RateLimit-Policy"])
    found = re.fullmatch(r'"default";r=(\d+);t=(\d+)', response.headers["RateLimit"])
    assert found
    assert 0 < int(found[2]) <= 3600
    return int(found[1])


def test_every_answer_counts_down_and_then_there_is_none(tmp_path: Path) -> None:
    app = limited(tmp_path, 3)
    client = app.test_client()
    answers = [client.get("/v1/stages"), client.get("/v1/procedures/none"), client.get("/v1/stages?x=1")]
    assert [left(each) for each in answers] == [2, 1, 0]
    refused = client.get("/v1/stages")
    told(refused, 429, "rate-limited")
    assert left(refused) == 0
    assert 0 < int(refused.headers["Retry-After"]) <= 3600
    assert client.get("/livez").status_code == 200
    snapshot(app).store.close()


def test_without_a_quota_nothing_is_counted(client: object, app: Flask) -> None:
    assert "RateLimit" not in app.test_client().get("/v1/stages").headers


def test_a_batch_counts_its_line_items_and_takes_nothing_where_it_is_refused(tmp_path: Path) -> None:
    app = limited(tmp_path, 10)
    client = app.test_client()

    def batch(count: int, **headers: str) -> TestResponse:
        body = {"line_items": [line_item(f"R{n}") for n in range(count)]}
        return client.post("/v1/procedures/batch", json=body, headers=headers)

    assert left(batch(4)) == 6
    refused = batch(9, **{"Idempotency-Key": "k"})
    told(refused, 429, "rate-limited")
    assert left(refused) == 5  # the request itself
    told(batch(9, **{"Idempotency-Key": "k"}), 429, "rate-limited")  # its key is free
    assert left(batch(4)) == 0
    snapshot(app).store.close()


def test_a_batch_larger_than_the_quota_takes_a_whole_one(tmp_path: Path) -> None:
    app = limited(tmp_path, 4)
    client = app.test_client()
    assert left(client.post("/v1/procedures/batch", json={"line_items": [7] * 6})) == 0
    told(client.post("/v1/procedures/batch", json={"line_items": [7]}), 429, "rate-limited")
    snapshot(app).store.close()


def test_shops_do_not_share_a_quota_and_keys_of_one_do(tmp_path: Path) -> None:
    app = limited(tmp_path, 2, without_keys=False)
    for shop in (NORTH, SOUTH):
        store_of(app).shops.create(shop, "invented", "command line")
    first, second, other = caller(app, NORTH), caller(app, NORTH), caller(app, SOUTH)
    assert [left(each.get("/v1/stages")) for each in (first, second, other)] == [1, 0, 1]
    told(second.get("/v1/stages"), 429, "rate-limited")
    stranger = app.test_client().get("/v1/stages")
    assert (stranger.status_code, "RateLimit" in stranger.headers) == (401, False)
    store_of(app).close()


def redis_or_skip() -> str:
    redis = pytest.importorskip("redis", reason="needs redis (the extra `redis`)")
    try:
        redis.Redis.from_url(REDIS, socket_connect_timeout=1).ping()
    except redis.exceptions.ConnectionError:
        pytest.skip(f"needs a Redis server at {REDIS}")
    return REDIS


def test_redis_counts_for_several_processes() -> None:
    storage, name = redis_or_skip(), uuid4().hex
    one, other = Quota(3, 60, storage), Quota(3, 60, storage)
    assert [one.take(name), other.take(name, 2), one.take(name)] == [True, True, False]
    found = other.left(name)
    assert found is not None
    assert found.requests == 0


def test_where_redis_does_not_answer_nobody_is_held_up(caplog: pytest.LogCaptureFixture) -> None:
    pytest.importorskip("redis", reason="needs redis (the extra `redis`)")
    quota = Quota(1, 60, "redis://:s3cret@127.0.0.1:1/0")
    assert (quota.take("x"), quota.left("x")) == (None, None)
    assert "nobody is held up" in caplog.text
    assert "s3cret" not in caplog.text


@pytest.mark.parametrize("storage", ["nowhere://s3cret", "", "redis"])
def test_a_storage_that_is_none_is_refused_without_its_text(storage: str) -> None:
    with pytest.raises(QuotaRefused) as refused:
        Quota(1, 1, storage)
    assert "s3cret" not in str(refused.value)
