"""The service under gunicorn, as `docker/Dockerfile` starts it: two processes on 127.0.0.1."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
import requests
from gunicorn_at_hand import HOST, LINE_ITEM, PATIENCE_S, Running, paused, post, under_gunicorn
from small_pack import SMALL_PACK
from waiting import until


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    with under_gunicorn(tmp_path) as started:
        started.await_("in force: pack", times=2)
        yield started


def counted(address: str) -> float:
    text = requests.get(f"{address}/metrics", timeout=PATIENCE_S).text
    return sum(
        float(count) for count in re.findall(r"^stagewright_decisions_total{[^}]*} (\S+)$", text, re.M)
    )


def test_both_processes_serve_and_count_together_and_are_replaced(running: Running) -> None:
    first, second = running.workers
    for asleep in (first, second):
        with paused(asleep):
            assert post(running.address).status_code == 201
    assert counted(running.address) == 2

    os.kill(first, signal.SIGTERM)
    running.await_("in force: pack", times=3)
    third = running.workers[2]
    assert third not in (first, second)
    with paused(second):
        assert post(running.address).status_code == 201
    assert counted(running.address) == 3

    lines = [json.loads(line) for line in running.log.read_text().splitlines()]
    assert [line["status"] for line in lines if line.get("route") == "/v1/procedures"] == [201, 201, 201]


def test_a_pack_put_in_force_through_one_process_is_in_force_in_the_other(running: Running) -> None:
    """Every process follows what is in force, also from what another one was told."""
    first, second = running.workers
    address = running.address
    before = requests.get(f"{address}/v1/packs/active", timeout=PATIENCE_S)
    files = {
        path.relative_to(running.log.parent / "pack").as_posix(): path.read_text()
        for path in (running.log.parent / "pack").rglob("*.yaml")
    }
    files["pack.yaml"] = files["pack.yaml"].replace("version: 1.0.0", "version: 1.0.1")
    kept = requests.post(f"{address}/v1/packs", json={"files": files}, timeout=PATIENCE_S)
    digest = kept.json()["digest"]
    assert digest != before.json()["pack"]["digest"]
    requests.post(f"{address}/v1/packs/{digest}/proof", timeout=PATIENCE_S)
    put = requests.put(
        f"{address}/v1/packs/active",
        json={"digest": digest},
        headers={"If-Match": before.headers["ETag"]},
        timeout=PATIENCE_S,
    )
    assert put.status_code == 200, put.text
    for asleep in (first, second):
        with paused(asleep):
            until(
                lambda: (
                    requests.get(f"{address}/readyz", timeout=PATIENCE_S).json()["pack"]["digest"] == digest
                ),
                running.log.read_text,
            )


def test_a_request_under_way_ends_when_the_service_is_stopped(running: Running) -> None:
    body = json.dumps(LINE_ITEM).encode()
    head = f"POST /v1/procedures HTTP/1.1\r\nHost: {HOST}\r\nContent-Type: application/json\r\n"
    head += f"Content-Length: {len(body)}\r\nExpect: 100-continue\r\n\r\n"
    with socket.create_connection((HOST, running.port), timeout=PATIENCE_S) as connection:
        connection.sendall(head.encode())
        assert connection.recv(1000).startswith(b"HTTP/1.1 100")
        connection.sendall(body[:10])
        running.process.terminate()
        running.await_("Worker exiting")  # the one that has nothing to do
        connection.sendall(body[10:])
        assert connection.recv(1000).startswith(b"HTTP/1.1 201")
    assert running.process.wait(PATIENCE_S) == 0


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (
            {"STAGEWRIGHT_THREADS": "many", "STAGEWRIGHT_OPEN": "perhaps"},
            ["THREADS is 'many'", "OPEN is 'pe"],
        ),
        ({"STAGEWRIGHT_DATABASE": "sqlite:////nowhere/at/all.sqlite3"}, ["cannot use the database sqlite:"]),
        ({"STAGEWRIGHT_LISTEN_HOST": "0.0.0.0"}, ["LISTEN_HOST 0.0.0.0 may be reached from others"]),
    ],
)
def test_what_cannot_be_started_says_why_and_ends(
    tmp_path: Path, more: dict[str, str], told: list[str]
) -> None:
    with under_gunicorn(tmp_path, **more) as running:
        assert running.process.wait(PATIENCE_S) != 0
    log = running.log.read_text()
    assert all(text in log for text in told), log
    assert "Traceback" not in log


def test_a_pack_at_fault_is_not_served(tmp_path: Path) -> None:
    broken = SMALL_PACK["rules/all.yaml"].replace("surface_energy", "surfaceenergy")
    with under_gunicorn(tmp_path, broken) as running:
        assert running.process.wait(PATIENCE_S) != 0
    told = [json.loads(line) for line in running.log.read_text().splitlines() if "not started" in line]
    assert told
    assert all("rules/all.yaml:14:12 R" in line["message"] for line in told)
