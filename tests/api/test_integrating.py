"""The page for integrators: its examples get the answers that it shows, and its code does what it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any
from uuid import uuid4

import pytest
from checked_client import serving, snapshot
from flask import Flask, Response
from flask.testing import FlaskClient
from pages_at_hand import Exchange, call_of, examples, listening, run_code, text_of
from urllib3.util import retry

from schemas.examples import MINIMAL

PAGE = "integrating.md"
NUMBERS = range(len(examples(PAGE)))


@pytest.mark.parametrize("number", NUMBERS)
def test_an_example_gets_the_answer_that_is_shown(held: list[Exchange], number: int) -> None:
    held[number].hold()


def test_the_dry_run_says_so_and_the_page_of_packs_is_one(held: list[Exchange]) -> None:
    by_address = {call_of(each.command).address.partition("8080")[2]: each.response for each in held}
    assert (by_address["/v1/procedures?dry_run=true"].json or {})["dry_run"] is True
    assert len((by_address["/v1/packs?limit=1"].json or {})["items"]) == 1


def test_every_address_of_the_page_is_one_of_the_service(client: FlaskClient) -> None:
    paths: Any = (client.get("/openapi.json").json or {})["paths"]
    paths = {re.sub(r"\{\w+_id\}", "{id}", path) for path in paths}
    named = re.findall(r"`(?:GET |POST |PUT )?(/v1/[^`?]*)[^`]*`", text_of(PAGE))
    assert len(named) > 10
    assert set(named) <= paths


class Failing:
    """A service that fails before it does anything, as often as `failures` has statuses."""

    def __init__(self, app: Flask) -> None:
        self.failures: list[int] = []
        self.keys: list[str] = []
        self._answer = app.wsgi_app
        app.wsgi_app = self  # type: ignore[method-assign]  # as Flask has it done

    def __call__(self, environ: Any, start: Any) -> Any:
        self.keys.append(environ.get("HTTP_IDEMPOTENCY_KEY", ""))
        if not self.failures:
            return self._answer(environ, start)
        return Response(status=self.failures.pop(0), headers={"Retry-After": "7"})(environ, start)


@pytest.fixture(scope="module")
def failing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Failing, dict[str, Any]]]:
    """It, and what the code of the page defines beside it."""
    app = serving(tmp_path_factory.mktemp("failing") / "store.sqlite3")
    service = Failing(app)
    with listening(app) as address:
        names = run_code(PAGE, address)
        yield service, names
        names["session"].close()
    snapshot(app).store.close()


def test_the_code_gets_a_procedure_over_an_outage_with_one_key(
    failing: tuple[Failing, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    service, names = failing
    waited: list[float] = []
    monkeypatch.setattr(retry.time, "sleep", waited.append)
    service.failures, service.keys, key = [503, 429, 409], [], str(uuid4())
    first = names["issue"](MINIMAL, key)
    assert first["line_item"]["reference"] == MINIMAL["line_item"]["reference"]
    assert service.keys == [f'"{key}"'] * 4
    assert waited == [7] * 3
    assert names["issue"](MINIMAL, key) == first


def test_the_code_tells_a_person_what_is_refused(failing: tuple[Failing, dict[str, Any]]) -> None:
    body = deepcopy(MINIMAL) | {"damage": {"type": "crak"}}
    with pytest.raises(ValueError, match=r"^/damage/type .*did you mean 'crack'\?"):
        failing[1]["issue"](body, str(uuid4()))
