"""Pages of the documentation: their commands are sent, their code is run, and what they show is held against
what comes."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from string import Template
from threading import Thread
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.serving import make_server
from werkzeug.test import TestResponse

DOCS = Path(__file__).parents[2] / "docs"
ADDRESS = "http://127.0.0.1:8080"
LEFT_OUT = "…"


@dataclass
class Call:
    """What a curl command asks for."""

    address: str = ""
    method: str | None = None
    headers: dict[str, str] = field(default_factory=dict)
    body: str | None = None


@dataclass(frozen=True)
class Exchange:
    """A command of a page, the answer shown below it, and the one that came."""

    command: str
    shown: str
    response: TestResponse

    def hold(self) -> None:
        """Fails where what came is not what is shown."""
        head, _, body = self.shown.partition("\n\n")
        status, *headers = head.strip().splitlines()
        assert status == f"HTTP/1.1 {self.response.status}", self.response.text
        for name, value in (line.split(": ", 1) for line in headers):
            answered = self.response.headers.getlist(name)
            assert any(fits(value, each) for each in answered), (name, self.response.headers)
        if body:
            assert fits(body.strip(), self.response.text), self.response.text


def text_of(page: str) -> str:
    return (DOCS / page).read_text(encoding="utf-8")


def prose_of(page: str) -> str:
    """The text without its line breaks."""
    return " ".join(text_of(page).split())


def blocks(page: str, *languages: str) -> list[tuple[str, str]]:
    """The fenced blocks of these languages in their order, each with its language."""
    found: list[tuple[str, str]] = re.findall(
        rf"^```({'|'.join(languages)})\n(.*?)^```", text_of(page), re.DOTALL | re.MULTILINE
    )
    return found


def examples(page: str) -> list[tuple[str, str]]:
    """Each command with the answer shown below it."""
    found = blocks(page, "console", "http")
    pairs = [
        (shown, answer)
        for (kind, shown), (next_kind, answer) in pairwise(found)
        if kind == "console" != next_kind
    ]
    assert 2 * len(pairs) == len(found), "every command has its answer below it"
    return pairs


def conversation(client: FlaskClient, page: str) -> list[Exchange]:
    """The commands of a page, sent one after another.

    A `$NAME` in an answer stands for what comes in its place there, and in every later command for that.
    """
    known: dict[str, str] = {}
    held = []
    for command, shown in examples(page):
        response = sent(client, call_of(Template(command).safe_substitute(known)))
        known |= caught(Template(shown).safe_substitute(known), response)
        held.append(Exchange(command, Template(shown).safe_substitute(known), response))
    return held


def call_of(command: str) -> Call:
    """Reads the few options of curl that the pages use; any other is a fault of the page."""
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
                call.body = next(rest)
            case _:
                assert word.startswith(f"{ADDRESS}/"), word
                call.address = word
    return call


def sent(client: FlaskClient, call: Call) -> TestResponse:
    address = urlsplit(call.address)
    method = call.method or ("GET" if call.body is None else "POST")
    return client.open(
        address.path, method=method, query_string=address.query, headers=call.headers, data=call.body
    )


def caught(shown: str, response: TestResponse) -> dict[str, str]:
    """What stands in the answer in the place of each `$NAME`."""
    answered = "\n".join([*(f"{name}: {value}" for name, value in response.headers), response.text])
    found = {}
    for line in shown.splitlines():
        for before, name in re.findall(r"(\S* ?\S*)\$([A-Z]+)", line):
            match = re.search(rf"{re.escape(before)}([A-Za-z0-9_-]+)", answered)
            if match:
                found[name] = match[1]
    return found


def fits(shown: str, answered: str) -> bool:
    """Whether what is shown is what was answered, but for what is left out."""
    pattern = ".*".join(re.escape(part) for part in shown.split(LEFT_OUT))
    return re.fullmatch(pattern, answered, re.DOTALL) is not None


@contextmanager
def listening(app: Flask) -> Iterator[str]:
    """The address at which a server answers for an application."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def run_code(page: str, address: str = ADDRESS) -> dict[str, Any]:
    """The names that the code of a page defines, when it runs against a service at `address`."""
    code = "\n".join(text for _, text in blocks(page, "python")).replace(ADDRESS, address)
    names: dict[str, Any] = {}
    exec(compile(code, page, "exec"), names)
    return names
