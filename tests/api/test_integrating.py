"""The page for integrators: each of its examples gets the answer that it shows."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

PAGE = Path(__file__).parents[2] / "docs" / "integrating.md"
LEFT_OUT = "…"


@dataclass
class Call:
    """What a curl command asks for."""

    address: str = ""
    method: str = "GET"
    headers: dict[str, str] = field(default_factory=dict)
    body: str | None = None


def examples() -> list[tuple[str, str]]:
    """Each command with the answer shown below it."""
    found = re.findall(
        r"^```(console|http)\n(.*?)^```", PAGE.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE
    )
    pairs = [
        (shown, answer)
        for (kind, shown), (next_kind, answer) in pairwise(found)
        if kind == "console" != next_kind
    ]
    assert 2 * len(pairs) == len(found), "every command has its answer below it"
    return pairs


def call_of(command: str) -> Call:
    """Reads the few options of curl that the page uses; any other is a fault of the page."""
    program, *words = shlex.split(command.removeprefix("$ "))
    assert program == "curl"
    call, rest = Call(), iter(words)
    for word in rest:
        match word:
            case "-i" | "-s":
                pass
            case "-X":
                call.method = next(rest)
            case "-H":
                name, _, value = next(rest).partition(": ")
                call.headers[name] = value
            case "-d":
                call.method, call.body = "POST", next(rest)
            case _:
                assert word.startswith("http://127.0.0.1:8080/"), word
                call.address = word
    return call


def sent(client: FlaskClient, call: Call) -> TestResponse:
    address = urlsplit(call.address)
    return client.open(
        address.path, method=call.method, query_string=address.query, headers=call.headers, data=call.body
    )


@pytest.fixture
def identifier(client: FlaskClient) -> str:
    """The id of the procedure of the first example."""
    document: Any = sent(client, call_of(examples()[0][0])).json
    return str(document["id"])


@pytest.mark.parametrize("number", range(len(examples())))
def test_an_example_gets_the_answer_that_is_shown(client: FlaskClient, identifier: str, number: int) -> None:
    command, shown = (text.replace("$ID", identifier) for text in examples()[number])
    response = sent(client, call_of(command))
    head, _, body = shown.partition("\n\n")
    status, *headers = head.strip().splitlines()
    assert status == f"HTTP/1.1 {response.status}"
    for name, value in map(split_header, headers):
        assert any(fits(value, each) for each in response.headers.getlist(name)), (name, response.headers)
    if body:
        assert fits(body.strip(), response.text)


def test_the_dry_run_says_so_and_the_page_of_packs_is_one(client: FlaskClient) -> None:
    by_address = {call.address.partition("8080")[2]: call for call in calls()}
    dry: Any = sent(client, by_address["/v1/procedures?dry_run=true"]).json
    assert dry["dry_run"] is True
    assert len((sent(client, by_address["/v1/packs?limit=1"]).json or {})["items"]) == 1


def test_every_address_of_the_page_is_one_of_the_service(client: FlaskClient) -> None:
    paths: Any = (client.get("/openapi.json").json or {})["paths"]
    paths = {re.sub(r"\{\w+_id\}", "{id}", path) for path in paths}
    named = re.findall(r"`(?:GET |POST |PUT )?(/v1/[^`?]*)[^`]*`", PAGE.read_text(encoding="utf-8"))
    assert len(named) > 10
    assert set(named) <= paths


def calls() -> Iterator[Call]:
    yield from (call_of(command) for command, _ in examples())


def split_header(line: str) -> tuple[str, str]:
    name, _, value = line.partition(": ")
    return name, value


def fits(shown: str, answered: str) -> bool:
    """Whether what is shown is what was answered, but for what is left out."""
    pattern = ".*".join(re.escape(part) for part in shown.split(LEFT_OUT))
    return re.fullmatch(pattern, answered, re.DOTALL) is not None
