"""API1:2023 Broken Object Level Authorization (OWASP API Security Top 10, 2023): nothing of one shop is
visible, countable or guessable from another."""

from __future__ import annotations

from collections.abc import Iterator
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from keys_at_hand import NORTH, SOUTH, caller, is_refused, key, keyed_service, store_of, with_key
from packs_at_hand import activate, issue, keep, line_item, told, version
from shop_packs_at_hand import house_rules, keep_for
from sqlalchemy import select
from webhooks_at_hand import PATH, asked, listed, made, place, tried
from werkzeug.test import TestResponse

from schemas.webhooks import URL
from storage.shops import LOCAL
from storage.tables import outbox


def without_id(response: TestResponse, procedure_id: str) -> tuple[int, str, list[str]]:
    """Status, body and names of headers, without the id that was asked for."""
    return response.status_code, response.text.replace(procedure_id, "…"), sorted(response.headers.keys())


PLACES = ("", "/timeline", "/explanation", "/actuals")


@pytest.mark.parametrize("place", PLACES)
def test_a_procedure_of_another_shop_is_as_unknown_as_one_that_never_was(
    north: FlaskClient, south: FlaskClient, place: str
) -> None:
    theirs, nobodys = issue(south)["id"], "pr-" + "0" * 64
    nobodys = nobodys[: len(theirs)]
    for headers in ({}, {"If-None-Match": f'"{theirs}"'}, {"Accept": "image/svg+xml"}):
        answers = [
            without_id(north.get(f"/v1/procedures/{each}{place}", headers=headers), each)
            for each in (theirs, nobodys)
        ]
        assert answers[0] == answers[1]
        assert answers[0][0] == 404
    assert south.get(f"/v1/procedures/{theirs}{place}").status_code == 200


def test_reports_on_a_procedure_of_another_shop_are_refused(north: FlaskClient, south: FlaskClient) -> None:
    theirs = issue(south)["id"]
    body = {"actuals": [{"stage": "wash", "work_min": 5}]}
    told(north.post(f"/v1/procedures/{theirs}/actuals", json=body), 404, "procedure-unknown")
    assert south.get(f"/v1/procedures/{theirs}/actuals").json == {"procedure": theirs, "items": []}


def test_the_same_content_has_the_same_id_in_each_shop_and_tells_nothing(
    north: FlaskClient, south: FlaskClient
) -> None:
    """An id is a digest of content: who writes the same line item knows it, not whether others have it."""
    theirs = south.post("/v1/procedures", json=line_item())
    known = theirs.json["id"]  # type: ignore[index]  # a 201 has a body
    assert north.get(f"/v1/procedures/{known}").status_code == 404
    ours = north.post("/v1/procedures", json=line_item())
    assert (ours.status_code, ours.json) == (theirs.status_code, theirs.json)
    assert sorted(ours.headers.keys()) == sorted(theirs.headers.keys())
    assert north.get(f"/v1/procedures/{known}").json == south.get(f"/v1/procedures/{known}").json


def test_line_items_of_two_shops_may_have_one_reference(north: FlaskClient, south: FlaskClient) -> None:
    mine, theirs = issue(north, kind="crack"), issue(south, kind="scratch")
    for client, own in ((north, mine), (south, theirs)):
        found = client.get("/v1/procedures?line_item=R1").json
        assert found is not None
        assert [each["id"] for each in found["items"]] == [own["id"]]


def test_a_list_tells_nothing_of_how_many_others_have(north: FlaskClient, south: FlaskClient) -> None:
    before = north.get("/v1/procedures?line_item=R1&limit=1")
    for material in ("PP", "ABS"):
        issue(south, material=material)
    after = north.get("/v1/procedures?line_item=R1&limit=1")
    assert (after.json, after.headers.get("Link")) == (before.json, before.headers.get("Link"))
    assert after.json == {"items": []}


def test_a_cursor_of_another_shop_leads_to_nothing_of_it(north: FlaskClient, south: FlaskClient) -> None:
    for material in ("PP", "ABS"):
        issue(south, material=material)
    link = south.get("/v1/procedures?line_item=R1&limit=1").headers["Link"]
    following = link[1 : link.index(">")]
    assert south.get(following).json != {"items": []}
    assert north.get(following).json == {"items": []}


def test_an_impact_counts_the_line_items_of_the_shop_alone(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    candidate = keep_for(keyed, NORTH, house_rules(5))
    issue(south, reference="secret")
    path = f"/v1/packs/{candidate.digest}/impact"
    nothing = north.get(path)
    assert nothing.json is not None
    assert nothing.json["line_items"]["total"] == 0
    issue(north, reference="own")
    found = north.get(path)
    assert found.json is not None
    assert found.json["line_items"]["total"] == 1
    assert [change["example"]["line_item"] for change in found.json["changes"]] == ["own"]
    assert "secret" not in found.text + nothing.text


def test_every_shop_is_told_of_its_own_line_items(
    keyed: Flask, north: FlaskClient, south: FlaskClient
) -> None:
    """One activation concerns all shops: each of their line items is told, under its shop, once."""
    mine, theirs = issue(north), issue(south)
    assert mine["id"] == theirs["id"]
    assert activate(caller(keyed, LOCAL), keep(keyed, version(5)).digest).status_code == 200
    with store_of(keyed)._engine.connect() as connection:
        rows = connection.execute(select(outbox.c.shop, outbox.c.reference, outbox.c.procedure_id)).all()
    assert sorted(map(tuple, rows)) == [(NORTH, "R1", mine["id"]), (SOUTH, "R1", mine["id"])]


def test_what_one_shop_learns_does_not_move_another(north: FlaskClient, south: FlaskClient) -> None:
    before = north.get("/v1/estimates/wash").json
    for number in range(4):
        procedure = issue(south, reference=f"R{number}")
        body = {"actuals": [{"stage": "wash", "work_min": 9}]}
        assert south.post(f"/v1/procedures/{procedure['id']}/actuals", json=body).status_code == 200
    assert south.get("/v1/estimates/wash").json != before
    assert north.get("/v1/estimates/wash").json == before
    assert north.get("/v1/estimates").json["items"] == []  # type: ignore[index]  # a 200 has a body
    assert north.get("/v1/actuals").text == ""


def test_an_answer_is_not_given_again_to_another_shop(keyed: Flask) -> None:
    """`Idempotency-Key` is a shop's own: the same one of another shop begins anew."""
    headers, written = {"Idempotency-Key": '"the-same"'}, key(keyed, SOUTH)
    theirs = with_key(keyed, written).post("/v1/procedures", json=line_item("secret"), headers=headers)
    again = with_key(keyed, written).post("/v1/procedures", json=line_item("secret"), headers=headers)
    assert again.headers["Idempotency-Replayed"] == "true"
    north = caller(keyed, NORTH)
    for reference in ("own", "own", "secret"):
        mine = north.post("/v1/procedures", json=line_item(reference), headers=headers)
        assert mine.status_code == (422 if reference == "secret" else 201)
        assert theirs.json["id"] not in mine.text  # type: ignore[index]  # a 201 has a body
    store_of(keyed).keys.revoke(written.prefix, "command line")
    gone = with_key(keyed, written).post("/v1/procedures", json=line_item("secret"), headers=headers)
    assert is_refused(gone)


def test_a_batch_is_issued_to_the_shop_of_its_key_alone(north: FlaskClient, south: FlaskClient) -> None:
    items = [line_item(f"R{number}") for number in range(3)]
    answered = south.post("/v1/procedures/batch", json={"line_items": items}).json
    assert answered is not None
    ids = [result["id"] for result in answered["results"]]
    assert [south.get(f"/v1/procedures/{each}").status_code for each in ids] == [200, 200, 200]
    assert [north.get(f"/v1/procedures/{each}").status_code for each in ids] == [404, 404, 404]


OF_A_WEBHOOK = [
    ("get", ""),
    ("put", ""),
    ("delete", ""),
    ("post", "/secret"),
    ("post", "/test"),
    ("post", "/replay"),
    ("get", "/deliveries"),
    ("get", "/deliveries/{}"),
    ("post", "/deliveries/{}/replay"),
]


@pytest.mark.parametrize(("method", "rest"), OF_A_WEBHOOK)
def test_a_webhook_of_another_shop_is_as_unknown_as_one_that_never_was(
    north: FlaskClient, south: FlaskClient, method: str, rest: str
) -> None:
    theirs, nobodys = made(south), {"id": f"wh_{'0' * 32}"}
    rest = rest.format(tried(south, theirs)["id"])
    before = south.get(place(theirs)), listed(south, theirs)
    bodies = {"/secret": {}, "": {**asked(), "paused": True}}
    options = {"json": bodies[rest]} if method in ("put", "post") and rest in bodies else {}
    for tag in ("*", before[0].headers["ETag"], None):
        headers = {"If-Match": tag} if tag else {}
        answers = [
            without_id(north.open(place(each) + rest, method=method, headers=headers, **options), each["id"])
            for each in (theirs, nobodys)
        ]
        assert answers[0] == answers[1]
        assert answers[0][0] == 404
    assert (south.get(place(theirs)).json, listed(south, theirs)) == (before[0].json, before[1])
    assert north.get(PATH).json == {"items": []}


def test_a_cursor_of_the_deliveries_of_another_shop_leads_to_nothing_of_it(
    north: FlaskClient, south: FlaskClient
) -> None:
    mine, theirs = made(north), made(south)
    own = tried(north, mine)["id"]
    for _ in range(2):
        tried(south, theirs)
    link = south.get(f"{place(theirs, 'deliveries')}?limit=1").headers["Link"]
    following = link[1 : link.index(">")].replace(theirs["id"], mine["id"])
    assert {each["id"] for each in (north.get(following).json or {})["items"]} <= {own}


def test_how_many_webhooks_a_shop_has_bounds_no_other(north: FlaskClient, south: FlaskClient) -> None:
    while south.post(PATH, json=asked()).status_code == 201:
        pass
    made(north)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, FlaskClient]]:
    """A caller of each shop, by its shop."""
    app = keyed_service(tmp_path_factory.mktemp("shared"))
    yield {shop: caller(app, shop) for shop in (NORTH, SOUTH)}
    store_of(app).close()


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([NORTH, SOUTH]), st.sampled_from(["R1", "R2"]), st.sampled_from(["PP", "ABS"])
        ),
        max_size=8,
    )
)
def test_whatever_is_issued_a_shop_reads_back_its_own_and_no_more(
    shared: dict[str, FlaskClient], steps: list[tuple[str, str, str]]
) -> None:
    case, own = uuid4().hex, dict[tuple[str, str], set[str]]()
    for shop, reference, material in steps:
        procedure = issue(shared[shop], reference=f"{case}-{reference}", material=material)
        own.setdefault((shop, reference), set()).add(procedure["id"])
    every = set().union(*own.values())
    for shop, client in shared.items():
        mine = set().union(*(ids for (owner, _), ids in own.items() if owner == shop))
        assert {each for each in every if client.get(f"/v1/procedures/{each}").status_code == 200} == mine
        for reference in ("R1", "R2"):
            listed = client.get(f"/v1/procedures?line_item={case}-{reference}").json
            assert listed is not None
            assert {each["id"] for each in listed["items"]} == own.get((shop, reference), set())


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(st.sampled_from([NORTH, SOUTH]), st.sampled_from(["PP", "ABS"])), max_size=6))
def test_whatever_happens_a_webhook_is_told_of_its_own_shop_alone(
    shared: dict[str, FlaskClient], steps: list[tuple[str, str]]
) -> None:
    webhooks = {shop: made(client, URL, "procedure.issued") for shop, client in shared.items()}
    own: dict[str, list[str]] = {NORTH: [], SOUTH: []}
    for shop, material in steps:
        reference = uuid4().hex
        issue(shared[shop], reference=reference, material=material)
        own[shop].append(reference)
    for shop, client in shared.items():
        told_of = [each["line_item"] for each in listed(client, webhooks[shop])]
        assert sorted(told_of) == sorted(own[shop])
        assert client.delete(place(webhooks[shop]), headers={"If-Match": "*"}).status_code == 204
