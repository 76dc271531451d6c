"""Signed links: what they open, for whom and how long, and how they end."""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from checked_client import serving
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, store_of
from packs_at_hand import issue, line_item, small_service, told
from small_pack import small_pack
from test_request_log import Written
from werkzeug.test import TestResponse

from api.commands import main
from api.keys.scopes import ADMIN, LINE_ITEMS
from api.links import opening
from storage.shops import LOCAL


@pytest.fixture
def north(keyed: Flask) -> FlaskClient:
    return caller(keyed, NORTH, LINE_ITEMS)


def given(client: FlaskClient, procedure_id: str, opens: str = "timeline", **more: Any) -> str:
    """The address of a new link."""
    response = client.post(f"/v1/procedures/{procedure_id}/links", json={"opens": opens, **more})
    assert response.status_code == 201, response.text
    assert response.json is not None
    url: str = response.json["url"]
    assert response.headers["Location"] == url
    assert "no-store" in response.headers["Cache-Control"]
    return url


def hidden(response: TestResponse) -> bool:
    """Whether an answer says that nobody is to keep, pass on or list it."""
    return all(response.headers[name] == value for name, value in opening.HIDDEN.items())


def is_refused(response: TestResponse) -> bool:
    """Whether a link was refused, and no more was told."""
    problem = {
        "type": "/problems/link-refused",
        "title": "This link opens nothing",
        "status": 404,
        "detail": "this link opens nothing; ask the shop for a new one",
    }
    return (response.status_code, response.json, hidden(response)) == (404, problem, True)


class At(datetime):
    """Stands in for the clock of the guard."""

    moment: datetime

    @classmethod
    def now(cls, tz: Any = None) -> Any:
        return cls.moment


def test_a_link_opens_the_drawing_without_a_key(keyed: Flask, north: FlaskClient) -> None:
    procedure = issue(north)
    opened = keyed.test_client().get(given(north, procedure["id"]))
    assert (opened.status_code, opened.mimetype) == (200, "image/svg+xml")
    assert hidden(opened)
    assert ElementTree.fromstring(opened.text).tag.endswith("svg")
    with_key = north.get(procedure["links"]["timeline"], headers={"Accept": "image/svg+xml"})
    assert opened.data == with_key.data


def test_a_link_opens_the_procedure_as_it_was_issued(keyed: Flask, north: FlaskClient) -> None:
    procedure = issue(north)
    opened = keyed.test_client().get(given(north, procedure["id"], "procedure"))
    assert (opened.status_code, opened.json) == (200, procedure)
    assert hidden(opened)


def test_a_link_opens_what_it_says_and_nothing_else(keyed: Flask, north: FlaskClient) -> None:
    first, second = issue(north)["id"], issue(north, reference="R2")["id"]
    stranger = keyed.test_client()
    url = given(north, first)
    token = url.rpartition("/")[2]
    assert stranger.get(url).status_code == 200
    assert is_refused(stranger.get(f"/l/procedure/{token}"))
    assert is_refused(stranger.get(url.replace(first, second)))
    assert stranger.get(f"/v1/procedures/{first}").status_code == 401
    bearer = {"Authorization": f"Bearer {token}"}
    assert stranger.get(f"/v1/procedures/{first}", headers=bearer).status_code == 401


def test_a_link_only_reads(keyed: Flask, north: FlaskClient) -> None:
    url = given(north, issue(north)["id"])
    for method in ("POST", "PUT", "DELETE", "PATCH"):
        assert keyed.test_client().open(url, method=method).status_code == 405


def test_a_link_says_nothing_of_its_shop(keyed: Flask, north: FlaskClient) -> None:
    url = given(north, issue(north)["id"])
    secret = store_of(keyed).links.secret_of(NORTH)
    assert NORTH not in url
    assert secret.secret not in url


def test_shops_have_links_of_their_own(keyed: Flask, north: FlaskClient) -> None:
    """Two shops with the same procedure: neither signs for the other, and each ends its own."""
    south = caller(keyed, SOUTH)
    mine, theirs = issue(north)["id"], issue(south)["id"]
    assert mine == theirs
    ours, other = given(north, mine), given(south, theirs)
    handles = [url.rpartition("/")[2].partition(".")[0] for url in (ours, other)]
    stranger = keyed.test_client()
    assert is_refused(stranger.get(ours.replace(*handles)))
    assert south.post("/v1/links/revoke").status_code == 200
    assert stranger.get(ours).status_code == 200
    assert is_refused(stranger.get(other))


def test_only_the_shop_that_was_issued_a_procedure_gives_links_to_it(
    keyed: Flask, north: FlaskClient
) -> None:
    procedure_id = issue(north)["id"]
    for body in ({"opens": "timeline"}, {"opens": "procedure"}):
        refused = caller(keyed, SOUTH).post(f"/v1/procedures/{procedure_id}/links", json=body)
        told(refused, 404, "procedure-unknown")


@pytest.mark.parametrize(
    ("more", "minutes"), [({}, 1440), ({"holds_min": 1}, 1), ({"holds_min": 43_200}, 43_200)]
)
def test_a_link_holds_as_long_as_it_was_given_for(
    keyed: Flask, north: FlaskClient, monkeypatch: pytest.MonkeyPatch, more: Any, minutes: int
) -> None:
    url = given(north, issue(north)["id"], **more)
    ends = datetime.fromtimestamp(int(url.split(".")[2]), UTC)
    late = timedelta(minutes=minutes) - (ends - datetime.now(UTC))
    assert timedelta(0) <= late < timedelta(minutes=1)
    monkeypatch.setattr(opening, "datetime", At)
    At.moment = ends - timedelta(seconds=1)
    assert keyed.test_client().get(url).status_code == 200
    At.moment = ends
    expired = keyed.test_client().get(url)
    assert ends.isoformat() in told(expired, 410, "link-expired")["detail"]
    assert hidden(expired)


def test_only_a_genuine_link_is_told_that_it_has_expired(
    keyed: Flask, north: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = given(north, issue(north)["id"])
    monkeypatch.setattr(opening, "datetime", At)
    At.moment = datetime.now(UTC) + timedelta(days=2)
    stranger = keyed.test_client()
    assert stranger.get(url).status_code == 410
    assert is_refused(stranger.get(url[:-1] + ("A" if url[-1] != "A" else "B")))
    assert is_refused(stranger.get(url.replace("/timeline/", "/procedure/")))
    store_of(keyed).links.revoke(NORTH, "command line")
    assert is_refused(stranger.get(url))


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/opens"),
        ({"opens": "keys"}, "/opens"),
        ({"opens": None}, "/opens"),
        ({"opens": "timeline", "holds_min": 0}, "/holds_min"),
        ({"opens": "timeline", "holds_min": 43_201}, "/holds_min"),
        ({"opens": "timeline", "holds_min": "60"}, "/holds_min"),
        ({"opens": "timeline", "holds_min": 1.5}, "/holds_min"),
        ({"opens": "timeline", "shop": "south"}, "/shop"),
    ],
)
def test_what_cannot_be_given_is_refused_at_its_place(north: FlaskClient, body: Any, pointer: str) -> None:
    refused = north.post(f"/v1/procedures/{issue(north)['id']}/links", json=body)
    assert [each["pointer"] for each in told(refused, 422, "body-refused")["errors"]] == [pointer]


def test_a_dry_run_gives_no_link_and_makes_no_secret(keyed: Flask, north: FlaskClient) -> None:
    place = f"/v1/procedures/{issue(north)['id']}/links?dry_run=true"
    tried = north.post(place, json={"opens": "timeline"})
    assert tried.status_code == 200
    assert tried.json is not None
    assert (tried.json["url"], tried.json["dry_run"]) == (None, True)
    assert "Location" not in tried.headers
    with store_of(keyed)._engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM link_secrets").scalar() == 0


def test_the_same_request_again_is_answered_with_the_same_link(north: FlaskClient) -> None:
    place, headers = f"/v1/procedures/{issue(north)['id']}/links", {"Idempotency-Key": '"once"'}
    first, again = (north.post(place, json={"opens": "timeline"}, headers=headers) for _ in range(2))
    assert first.json == again.json
    assert again.headers["Idempotency-Replayed"] == "true"
    assert "no-store" in again.headers["Cache-Control"]


def test_links_end_over_http_by_an_admin(keyed: Flask, north: FlaskClient) -> None:
    procedure_id = issue(north)["id"]
    url = given(north, procedure_id)
    told(north.post("/v1/links/revoke"), 403, "scope-missing")
    assert keyed.test_client().get(url).status_code == 200
    assert caller(keyed, NORTH, ADMIN).post("/v1/links/revoke").status_code == 200
    assert is_refused(keyed.test_client().get(url))
    assert keyed.test_client().get(given(north, procedure_id)).status_code == 200


def test_links_end_by_a_command(keyed: Flask, north: FlaskClient) -> None:
    url, database = given(north, issue(north)["id"]), str(store_of(keyed)._engine.url)
    arguments = ["links", "revoke", "--shop", NORTH, "--database", database]
    result = CliRunner().invoke(main, arguments)
    assert (result.exit_code, result.output) == (
        0,
        "north: every link that was given opens nothing any more\n",
    )
    assert is_refused(keyed.test_client().get(url))
    wrong = CliRunner().invoke(main, [*arguments[:3], "nowhere", *arguments[4:]])
    assert wrong.exit_code == 1
    assert "there is no shop 'nowhere'" in wrong.output


def test_links_work_without_keys_too(tmp_path: Path) -> None:
    app = small_service(tmp_path)
    client = app.test_client()
    url = given(client, issue(client)["id"])
    assert client.get(url).status_code == 200
    assert client.get(url, headers={"Host": "stranger.example"}).status_code == 421
    assert client.post("/v1/links/revoke").status_code == 200
    assert is_refused(client.get(url))
    store_of(app).close()


def test_links_use_up_nothing_that_the_keys_of_the_shop_need(tmp_path: Path) -> None:
    quota = {"without_keys": False, "rate_limit": 3}
    app = serving(tmp_path / "store.sqlite3", pack_folder=small_pack(tmp_path / "pack"), **quota)
    local, stranger = caller(app, LOCAL), app.test_client()
    url = given(local, issue(local)["id"])
    opened = [stranger.get(url) for _ in range(5)]
    assert [each.status_code for each in opened] == [200, 200, 200, 429, 429]
    assert opened[0].headers["RateLimit"].startswith('"default";r=2;')
    assert hidden(opened[-1])
    left = local.get("/v1/substrates")
    assert (left.status_code, left.headers["RateLimit"].split(";")[1]) == (200, "r=0")
    assert is_refused(stranger.get(url + "x"))
    store_of(app).close()


def test_a_token_is_never_written(keyed: Flask, north: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    """Neither into the log, nor into the figures, nor into an answer, whether it opens something or not."""
    written, root = Written("json"), logging.getLogger()
    root.addHandler(written)
    with caplog.at_level(logging.DEBUG):
        url = given(north, issue(north)["id"])
        token = url.rpartition("/")[2]
        answers = [
            keyed.test_client().get(path, headers=headers)
            for path in (url, f"/l/procedure/{token}", f"{url}x", f"{url}?x=1", f"/l/{token}", f"{url}/")
            for headers in ({}, {"Accept": "text/nothing"}, {"If-None-Match": "*"})
        ]
        caller(keyed, NORTH, ADMIN).post("/v1/links/revoke")
        keyed.test_client().get(url)
    root.removeHandler(written)
    figures = caller(keyed, LOCAL).get("/metrics").text
    assert "/l/timeline/{token}" in figures
    for piece in (token, *token.split(".")[::4]):
        assert piece not in "\n".join(written.lines) + caplog.text + figures
        assert not any(piece in answered.text + str(answered.headers) for answered in answers)
    opened = [line for line in written.requests() if line["route"] == "/l/timeline/{token}"]
    assert (opened[0]["shop"], opened[0]["key"], opened[0]["status"]) == (NORTH, None, 200)


def test_a_procedure_that_is_no_longer_kept_is_refused_like_the_rest(
    keyed: Flask, north: FlaskClient
) -> None:
    url = given(north, issue(north)["id"])
    with store_of(keyed)._engine.begin() as connection:
        for table in ("latest_procedures", "line_items", "procedures"):
            connection.exec_driver_sql(f"DELETE FROM {table}")
    assert is_refused(keyed.test_client().get(url))


def test_text_of_a_shop_does_no_harm_in_a_drawing(keyed: Flask, north: FlaskClient) -> None:
    """A browser opens it by itself: no script in it may run."""
    body = line_item("<script>alert(1)</script>")
    procedure = north.post("/v1/procedures", json=body).json
    assert procedure is not None
    opened = keyed.test_client().get(given(north, procedure["id"]))
    assert "<script" not in opened.text
    assert opened.headers["Content-Security-Policy"].startswith("default-src 'none'")
    as_json = keyed.test_client().get(given(north, procedure["id"], "procedure"))
    assert json.loads(as_json.text)["line_item"]["reference"] == "<script>alert(1)</script>"
