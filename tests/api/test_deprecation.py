"""A deprecated operation says so in every answer and in the document; none is today, so one is invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient
from flask_smorest import Api

from api.answers import answer
from api.deprecation import DEPRECATED, Deprecation, announce, mark
from api.keys.scopes import OPEN
from api.nouns import Noun
from api.openapi import openapi_document
from api.problem_types import NOT_FOUND
from api.problems import Problem
from rules.loading import BASE_PACK, load_folder
from schemas.operation import Alive

SINCE = datetime(2027, 3, 2, 8, 15, tzinfo=UTC)
SUNSET = datetime(2028, 3, 2, tzinfo=timezone(timedelta(hours=-6)))
PAGE = "/docs/changes"
INVENTED = {
    "read_old": Deprecation(SINCE, PAGE, SUNSET),
    "read_older": Deprecation(SINCE, PAGE),
}

old = Noun("old", __name__, scope=OPEN, url_prefix="/old")


@old.at("")
@old.gives(200, Alive, "It answers.")
def read_old() -> Response:
    """Read the old thing."""
    response = answer({"status": "alive"})
    response.headers["Link"] = '</old?cursor=2>; rel="next"'
    return response


@old.at("/older")
@old.gives(200, Alive, "It answers.")
def read_older() -> Response:
    """Read the older thing.

    Longer.
    """
    raise Problem(NOT_FOUND, "there is nothing any more")


@old.at("", "POST")
@old.gives(200, Alive, "It answers.")
def write_old() -> Response:
    """Write the old thing, which stays."""
    return answer({"status": "alive"})


@pytest.fixture(scope="module")
def app() -> Flask:
    app = Flask(__name__)
    app.config |= {"API_TITLE": "invented", "API_VERSION": "1", "OPENAPI_VERSION": "3.1.0"}
    Api(app).register_blueprint(old)
    app.register_error_handler(Problem, lambda problem: problem.response())
    announce(app, INVENTED)
    return app


@pytest.fixture(scope="module")
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_an_answer_tells_since_when_until_when_and_what_instead(client: FlaskClient, method: str) -> None:
    headers = client.open("/old", method=method).headers
    assert headers["Deprecation"] == f"@{int(SINCE.timestamp())}"
    assert headers["Sunset"] == "Thu, 02 Mar 2028 06:00:00 GMT"
    links = headers.getlist("Link")
    assert links == ['</old?cursor=2>; rel="next"', f'<{PAGE}>; rel="deprecation"; type="text/html"']


def test_a_refusal_tells_it_too_and_no_sunset_where_none_is_known(client: FlaskClient) -> None:
    answered = client.get("/old/older")
    assert answered.status_code == 404
    assert "Deprecation" in answered.headers
    assert "Sunset" not in answered.headers


def test_other_methods_and_addresses_say_nothing_of_it(client: FlaskClient) -> None:
    for answered in (client.post("/old"), client.get("/nothing")):
        assert not {"Deprecation", "Sunset", "Link"} & set(answered.headers.keys())


def test_the_document_marks_the_operation() -> None:
    operation: dict[str, Any] = {"operationId": "read_old", "description": "Longer."}
    other = {"operationId": "write_old"}
    mark(operation, INVENTED)
    mark(other, INVENTED)
    assert operation["deprecated"] is True
    assert operation["description"].startswith(
        "Deprecated since 2027-03-02; it may be gone from 2028-03-02 on."
    )
    assert operation["description"].endswith(f"{PAGE}\n\nLonger.")
    assert other == {"operationId": "write_old"}


def test_a_sunset_before_the_deprecation_is_refused() -> None:
    with pytest.raises(ValueError, match="set a later one"):
        Deprecation(SINCE, PAGE, SINCE - timedelta(days=1))


def test_what_is_declared_deprecated_is_an_operation_and_stays_for_a_year() -> None:
    document = openapi_document(load_folder(BASE_PACK))
    operations = {
        operation["operationId"]: operation
        for path in document["paths"].values()
        for method, operation in path.items()
        if method != "parameters"
    }
    assert DEPRECATED.keys() <= operations.keys()
    assert {name for name, each in operations.items() if each.get("deprecated")} == DEPRECATED.keys()
    for each in DEPRECATED.values():
        assert each.sunset is None or each.sunset - each.since >= timedelta(days=365)
