"""API8:2023 Security Misconfiguration (OWASP API Security Top 10, 2023): a service without keys is for its
own machine alone, also where a browser on it shows the page of a stranger."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from keys_at_hand import caller, keyed_service, store_of
from packs_at_hand import small_service, told

from api.application import Settings

PATHS = ("/v1/substrates", "/livez", "/docs", "/v1/nowhere", "/v1/estimates/wash/reset")


@pytest.fixture(scope="module")
def open_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    app = small_service(tmp_path_factory.mktemp("open"))
    yield app
    snapshot(app).store.close()


@pytest.fixture(scope="module")
def client(open_service: Flask) -> FlaskClient:
    return open_service.test_client()


@pytest.mark.parametrize(
    "host",
    ["localhost", "localhost:8080", "LOCALHOST", "127.0.0.1", "127.0.0.1:8080", "127.9.9.9", "[::1]:8080"],
)
def test_an_open_service_answers_as_its_own_machine(client: FlaskClient, host: str) -> None:
    assert client.get("/v1/substrates", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "rebound.example",
        "rebound.example:8080",
        "localhost.rebound.example",
        "127.0.0.1.rebound.example",
        "127.0.0.1@rebound.example",
        "rebound.example#localhost",
        "192.0.2.7",
        "0.0.0.0",
        "[::]:8080",
        "127.1",
        "2130706433",
        "0x7f.1",
    ],
)
@pytest.mark.parametrize("path", PATHS)
def test_a_name_that_was_led_to_this_machine_is_refused(client: FlaskClient, host: str, path: str) -> None:
    """DNS rebinding: the page's own name leads to 127.0.0.1, and the browser sends that name."""
    response = client.get(path, headers={"Host": host})
    assert response.status_code in (400, 421)
    assert response.json is not None
    assert response.json["type"] in ("/problems/host-refused", "/problems/request-refused")


@given(st.text(st.characters(codec="ascii", exclude_categories=["Cc"])))
def test_any_other_host_is_refused_and_never_breaks(client: FlaskClient, host: str) -> None:
    response = client.get("/livez", headers={"Host": f"x{host}"})
    assert response.status_code in (400, 421)


@pytest.mark.parametrize(
    "origin", ["https://stranger.example", "null", "http://localhost.stranger.example", "x", "http://["]
)
def test_a_form_on_the_page_of_a_stranger_is_refused(client: FlaskClient, origin: str) -> None:
    told(client.post("/v1/estimates/wash/reset", headers={"Origin": origin}), 421, "host-refused")


def test_the_documentation_of_the_service_itself_may_call_it(client: FlaskClient) -> None:
    response = client.get("/v1/substrates", headers={"Origin": "http://127.0.0.1:8080"})
    assert response.status_code == 200
    assert "Access-Control-Allow-Origin" not in response.headers


@pytest.mark.parametrize("address", ["192.0.2.7", "2001:db8::7", "10.0.0.1", "x"])
def test_a_caller_from_elsewhere_is_refused_wherever_the_service_listens(
    client: FlaskClient, address: str
) -> None:
    response = client.get("/v1/substrates", environ_overrides={"REMOTE_ADDR": address})
    told(response, 421, "host-refused")


@pytest.mark.parametrize("address", ["127.0.0.1", "::1", ""])
def test_a_caller_on_this_machine_is_served(client: FlaskClient, address: str) -> None:
    response = client.get("/v1/substrates", environ_overrides={"REMOTE_ADDR": address})
    assert response.status_code == 200


def test_a_service_with_keys_answers_under_any_name(tmp_path_factory: pytest.TempPathFactory) -> None:
    app = keyed_service(tmp_path_factory.mktemp("keyed"))
    headers = {"Host": "stagewright.example", "Origin": "https://shop.example"}
    assert caller(app).get("/v1/substrates", headers=headers).status_code == 200
    assert app.test_client().get("/v1/substrates", headers=headers).status_code == 401
    store_of(app).close()


def test_keys_are_asked_for_unless_told_otherwise(tmp_path_factory: pytest.TempPathFactory) -> None:
    assert Settings().without_keys is False
    app = serving(tmp_path_factory.mktemp("default") / "store.sqlite3", without_keys=Settings().without_keys)
    assert app.test_client().get("/v1/substrates").status_code == 401
    snapshot(app).store.close()


def test_an_open_service_needs_no_key_and_minds_none(client: FlaskClient) -> None:
    for headers in ({}, {"Authorization": "Bearer x"}):
        assert client.get("/v1/substrates", headers=headers).status_code == 200
