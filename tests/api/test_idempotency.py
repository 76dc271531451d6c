"""`Idempotency-Key`: what is asked again is answered as the first time, and creates nothing more."""

from __future__ import annotations

import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from keys_at_hand import NORTH, SOUTH, caller, keyed_service, store_of
from packs_at_hand import issue, line_item, small_service, told, version
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from api.idempotency.asking import digest_of_item
from api.idempotency.describing import REPEATABLE
from api.idempotency.keys import key_in_header
from api.problems import Problem
from api.snapshot import use
from storage.idempotency import Asked
from storage.shops import LOCAL
from storage.tables import idempotency, line_items, procedures

REPEATED_WITHOUT_HARM = {
    "identify_material": "keeps nothing",
    "prove_pack": "finds the same again",
    "roll_back": "has If-Match",
    "create_schedule": "keeps nothing",
    "revoke_links": "ends what was ended",
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    app = small_service(tmp_path_factory.mktemp("small"))
    yield app
    store_of(app).close()


@pytest.fixture
def small(service: Flask) -> FlaskClient:
    return service.test_client()


def new_key() -> str:
    return f'"{uuid4()}"'


def post(client: FlaskClient, key: str, body: Any, path: str = "/v1/procedures") -> TestResponse:
    return client.post(path, json=body, headers={"Idempotency-Key": key})


def is_replayed(response: TestResponse) -> bool:
    return response.headers.get("Idempotency-Replayed") == "true"


def test_every_creating_post_takes_a_key_and_says_so(app: Flask, client: FlaskClient) -> None:
    posts = [rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())]
    taking = {
        rule.endpoint.rpartition(".")[2]
        for rule in posts
        if getattr(app.view_functions[rule.endpoint], REPEATABLE, False)
    }
    assert {"create_procedure", "create_procedures", "create_pack", "report_actuals"} <= taking
    assert {rule.endpoint.rpartition(".")[2] for rule in posts} - taking <= REPEATED_WITHOUT_HARM.keys()
    document: Any = client.get("/openapi.json").json
    for path in document["paths"].values():
        operation = path.get("post", {})
        named = [each["name"] for each in operation.get("parameters", ()) if each.get("in") == "header"]
        assert ("Idempotency-Key" in named) == (operation.get("operationId") in taking)
        if operation.get("operationId") in taking:
            assert {"400", "409", "422"} <= operation["responses"].keys()


def test_the_first_answer_is_given_again(small: FlaskClient) -> None:
    key, body = new_key(), line_item(uuid4().hex)
    first, second = post(small, key, body), post(small, key, body)
    assert (first.status_code, is_replayed(first)) == (201, False)
    assert (second.status_code, is_replayed(second), second.data) == (201, True, first.data)
    for name in ("Content-Type", "ETag", "Location", "Cache-Control", "X-Content-Type-Options"):
        assert second.headers[name] == first.headers[name]
    assert second.headers["X-Request-Id"] != first.headers["X-Request-Id"]


def test_of_a_body_its_value_counts_and_a_key_is_the_same_in_quotes(small: FlaskClient) -> None:
    key, body = uuid4().hex, line_item(uuid4().hex)
    first = post(small, key, body)
    turned = json.dumps(dict(reversed(body.items())), indent=3)
    second = small.post(
        "/v1/procedures",
        data=turned,
        content_type="application/json",
        headers={"Idempotency-Key": f'"{key}"'},
    )
    assert is_replayed(second)
    assert second.data == first.data


def test_another_body_address_or_query_is_refused(small: FlaskClient) -> None:
    key, body = new_key(), line_item(uuid4().hex)
    document: Any = post(small, key, body).json
    for path, other in (
        ("/v1/procedures", line_item(uuid4().hex)),
        ("/v1/procedures?dry_run=false", body),
        ("/v1/procedures/batch", body),
        (f"/v1/procedures/{document['id']}/actuals", body),
        ("/v1/packs", body),
    ):
        told(post(small, key, other, path), 422, "idempotency-key-reused")
    assert is_replayed(post(small, key, body))


def test_a_request_under_way_is_not_begun_again(service: Flask, small: FlaskClient) -> None:
    key, body = uuid4().hex, line_item(uuid4().hex)
    asked = Asked(key, digest_of_item("/v1/procedures", body))
    (begun,) = store_of(service).idempotency.begin(LOCAL, [asked])
    response = post(small, key, body)
    told(response, 409, "idempotency-key-running")
    assert int(response.headers["Retry-After"]) > 0
    store_of(service).idempotency.free(LOCAL, [begun])  # type: ignore[list-item]
    assert post(small, key, body).status_code == 201


def test_a_refusal_is_an_answer_too(small: FlaskClient) -> None:
    key, body = new_key(), line_item(kind="crak")
    first, second = post(small, key, body), post(small, key, body)
    told(first, 422, "facts-refused")
    assert (second.status_code, second.data, is_replayed(second)) == (422, first.data, True)
    told(post(small, key, line_item()), 422, "idempotency-key-reused")


class Failing:
    def __getattr__(self, name: str) -> Any:
        raise RuntimeError("planted")


def test_a_failure_frees_the_key(service: Flask, small: FlaskClient) -> None:
    key, body, good = new_key(), line_item(uuid4().hex), snapshot(service)
    use(service, replace(good, decider=Failing()))  # type: ignore[arg-type]
    assert post(small, key, body).status_code == 500
    use(service, good)
    second = post(small, key, body)
    assert (second.status_code, is_replayed(second)) == (201, False)


def test_a_dry_run_leaves_the_key_alone(small: FlaskClient) -> None:
    key, body = new_key(), line_item(uuid4().hex)
    for _ in range(2):
        tried = post(small, key, body, "/v1/procedures?dry_run=true")
        assert (tried.status_code, is_replayed(tried)) == (200, False)
    assert post(small, key, body).status_code == 201


def test_packs_and_actuals_are_answered_again_too(small: FlaskClient) -> None:
    key, pack = new_key(), {"files": version(3)}
    first, second = post(small, key, pack, "/v1/packs"), post(small, key, pack, "/v1/packs")
    assert (first.status_code, second.status_code, second.data) == (201, 201, first.data)
    assert second.headers["Location"] == first.headers["Location"]
    path = f"/v1/procedures/{issue(small, reference=uuid4().hex)['id']}/actuals"
    report = {"actuals": [{"stage": "wash", "work_min": 6}]}
    key = new_key()
    first, second = post(small, key, report, path), post(small, key, report, path)
    assert (first.status_code, second.data, is_replayed(second)) == (200, first.data, True)


def test_keys_of_one_shop_are_nothing_to_another(tmp_path: Path) -> None:
    app = keyed_service(tmp_path)
    north, south, key, body = caller(app, NORTH), caller(app, SOUTH), new_key(), line_item()
    assert post(north, key, body).status_code == 201
    assert not is_replayed(post(south, key, line_item("other")))
    stranger = app.test_client().post("/v1/procedures", json=body, headers={"Idempotency-Key": key})
    assert (stranger.status_code, is_replayed(stranger)) == (401, False)
    assert is_replayed(post(north, key, body))
    store_of(app).close()


@pytest.mark.parametrize(
    ("sent", "key"),
    [
        ("abc", "abc"),
        ('"abc"', "abc"),
        (r'"a\"b\\c"', r'a"b\c'),
        ('" "', " "),
        ('"a, b;c"', "a, b;c"),
        ("a" * 255, "a" * 255),
        ('"' + "\\\\" * 255 + '"', "\\" * 255),
        ("8e03978e-40d5-43dd-bc93-6894a57f9324", "8e03978e-40d5-43dd-bc93-6894a57f9324"),
    ],
)
def test_a_key_is_read(sent: str, key: str) -> None:
    assert key_in_header(sent) == key


@pytest.mark.parametrize(
    "sent",
    [
        "",
        '""',
        '"',
        '"a',
        'a"',
        "a b",
        "a,b",
        '"a", "b"',
        '"a";x=1',
        "a" * 256,
        "é",
        '"é"',
        "a\\b",
        '"\\a"',
        "\x7f",
    ],
)
def test_a_key_that_could_be_read_in_two_ways_is_refused(small: FlaskClient, sent: str) -> None:
    with pytest.raises(Problem):
        key_in_header(sent)
    told(post(small, sent, line_item()), 400, "idempotency-key-refused")


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(st.characters(min_codepoint=1, max_codepoint=255, exclude_characters="\r\n"), max_size=300))
def test_no_key_ever_makes_the_service_fail(small: FlaskClient, sent: str) -> None:
    body = line_item(reference=f"R{len(sent)}")
    assert post(small, sent, body).status_code in (201, 400)
    item = {**body, "idempotency_key": sent}
    batch: Any = post(small, new_key(), {"line_items": [item]}, "/v1/procedures/batch").json
    assert batch["results"][0].get("status", 201) in (201, 400)


def rows(app: Flask, reference: str) -> list[str]:
    """The procedures of a line item, as they are kept."""
    query = select(procedures.c.id).join(line_items).where(line_items.c.reference == reference)
    with store_of(app)._engine.connect() as connection:
        return list(connection.scalars(query))


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 2), st.booleans()), min_size=1, max_size=8))
def test_however_requests_are_repeated_each_is_done_once(
    service: Flask, small: FlaskClient, repetitions: list[tuple[int, bool]]
) -> None:
    keys = [uuid4().hex for _ in range(3)]
    answers: dict[int, set[str]] = {}
    for number, in_batch in repetitions:
        body = line_item(reference=keys[number], kind="crack" if number else "crak")
        if in_batch:
            batch = {"line_items": [{**body, "idempotency_key": keys[number]}]}
            document: Any = post(small, new_key(), batch, "/v1/procedures/batch").json
            (result,) = document["results"]
            result.pop("index", None)
        else:
            result = post(small, keys[number], body).json
        answers.setdefault(number, set()).add(json.dumps(result))
    assert all(len(each) == 1 for each in answers.values())
    assert [len(rows(service, keys[number])) for number in answers] == [int(number > 0) for number in answers]


def test_of_many_at_once_one_creates_and_all_answers_are_equal(service: Flask) -> None:
    key, reference = new_key(), uuid4().hex

    def ask(_: int) -> TestResponse:
        return post(service.test_client(), key, line_item(reference=reference))

    with ThreadPoolExecutor(6) as threads:
        given = list(threads.map(ask, range(24)))
    done = [each for each in given if each.status_code == 201]
    assert {each.status_code for each in given} <= {201, 409}
    assert len({each.data for each in done}) == 1
    assert len([each for each in done if not is_replayed(each)]) == 1
    assert len(rows(service, reference)) == 1


def test_keys_take_no_room_for_what_is_asked_without_one(service: Flask, small: FlaskClient) -> None:
    def count() -> int | None:
        with store_of(service)._engine.connect() as connection:
            return connection.scalar(select(func.count()).select_from(idempotency))

    before = count()
    issue(small, reference=uuid4().hex)
    post(small, "a b", line_item())
    assert count() == before
