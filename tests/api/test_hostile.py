"""Hostile inputs against a served process: the right refusal, and the service goes on."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from contextlib import ExitStack

import pytest
from hostile_addresses import addresses
from hostile_bodies import bodies
from hostile_inputs import RIGHT, Hostile, message, posted
from hostile_webhooks import webhooks
from hostile_wire import wire
from served import HOST, Answered, exchange, served

KNOWN = "pr-00000000000000000000000000000000"
"""Stands for the id of a kept procedure in the inputs, until there is one."""

INPUTS = [*bodies(), *addresses(KNOWN), *webhooks(), *wire()]


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    with served(tmp_path_factory.mktemp("served")) as port:
        yield port


@pytest.fixture(scope="module")
def kept(port: int) -> str:
    """The id of a kept procedure."""
    answered = exchange(port, posted(RIGHT), method="POST")
    assert answered is not None
    identifier: str = answered.json()["id"]
    return identifier


def test_there_are_enough_and_no_two_have_one_name() -> None:
    names = [hostile.name for hostile in INPUTS]
    assert len(names) == len(set(names)) >= 300


@pytest.mark.parametrize(
    "hostile", INPUTS, ids=lambda hostile: hostile.name[:60].encode("ascii", "replace").decode()
)
def test_a_hostile_input_gets_its_answer_and_the_service_goes_on(
    port: int, kept: str, hostile: Hostile
) -> None:
    pieces = [piece.replace(KNOWN.encode(), kept.encode()) for piece in hostile.pieces]
    answered = exchange(port, *pieces, method=hostile.method)
    told = None if answered is None else answered.status
    assert told in hostile.statuses, answered
    if answered is not None:
        hold_to_the_form(answered)
    assert exchange(port, message()).status == 200  # type: ignore[union-attr]


def hold_to_the_form(answered: Answered) -> None:
    """One answer and no more; a refusal is a problem document; nothing of the inside is told."""
    assert answered.rest == b""
    assert b"Traceback" not in answered.body
    assert "set-cookie" not in answered.headers
    assert "//" not in answered.headers.get("location", "")
    assert answered.headers["x-request-id"]
    if answered.status >= 400 and answered.body:
        assert answered.media_type == "application/problem+json"
        document = json.loads(answered.body)
        assert document["status"] == answered.status
        assert document["type"].startswith("/problems/")
        assert len(answered.body) < 100_000


def test_after_all_of_it_a_right_line_item_gets_its_procedure(port: int, kept: str) -> None:
    answered = exchange(port, posted(RIGHT), method="POST")
    assert answered is not None
    assert (answered.status, answered.json()["id"]) == (201, kept)


def test_callers_that_stall_hold_up_nobody(port: int, kept: str) -> None:
    half = posted(RIGHT)[:-20]
    with ExitStack() as stack:
        for _ in range(30):
            stalled = stack.enter_context(socket.create_connection((HOST, port)))
            stalled.sendall(half)
        answered = exchange(port, posted(RIGHT), method="POST")
        assert answered is not None
        assert (answered.status, answered.json()["id"]) == (201, kept)


def test_a_refusal_of_the_server_itself_has_the_headers_of_every_answer(port: int) -> None:
    answered = exchange(port, b"no HTTP at all\r\n\r\n")
    assert answered is not None
    assert answered.headers["x-content-type-options"] == "nosniff"
    assert answered.headers["cache-control"] == "no-store"
    assert answered.json()["type"] == "/problems/request-refused"
