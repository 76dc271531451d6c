"""Processes that can't go on, or cannot begin yet: others take their place, and the service goes on."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pytest
from waiting import until

from bench.line_items import typical_line_items
from endurance.calling import Answer, Caller
from endurance.postgresql import Server
from endurance.services import GUNICORN, Service, running, start

HERE = Path(__file__).parent

needs_durable_rules = pytest.mark.skipif(sys.version_info >= (3, 13), reason="needs durable-rules")


def post(service: Service, number: int) -> Answer:
    """A line item that nobody has decided yet."""
    body = {**typical_line_items()[number].body, "line_item": {"reference": f"RO-{number}"}}
    return Caller(service.port).post("/v1/procedures", body, f"k{number}")


def says_worn_out(answer: Answer) -> bool:
    return (answer.status, answer.json()["type"]) == (503, "/problems/engine-worn-out")


@needs_durable_rules
def test_under_gunicorn_another_process_takes_the_place_of_one_that_ran_out_of_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    short = tmp_path / "short of memory"
    monkeypatch.setenv("SHORT_OF_MEMORY", str(short))
    command = [*GUNICORN, "--pythonpath", str(HERE), "wearing:application()"]
    with running(command, tmp_path, f"sqlite:///{tmp_path}/store.sqlite3", WORKERS="1") as service:
        _, before = service.processes()
        short.touch()
        answer = post(service, 0)
        short.unlink()
        assert says_worn_out(answer)
        assert int(answer.headers["Retry-After"]) > 0
        until(lambda: before not in service.processes())
        service.await_ready()
        assert post(service, 0).status == 201  # the key of the one that failed is free
        assert "this process ends: a state of the engine could not be started" in service.log.read_text()


@needs_durable_rules
def test_a_service_of_one_process_ends_with_a_code_that_lets_it_be_started_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    short = tmp_path / "short of memory"
    monkeypatch.setenv("SHORT_OF_MEMORY", str(short))
    command = [sys.executable, str(HERE / "wearing.py"), "serve"]
    monkeypatch.setenv("PYTHONPATH", os.getcwd())
    with running(command, tmp_path, f"sqlite:///{tmp_path}/store.sqlite3") as service:
        assert post(service, 0).status == 201
        short.touch()
        assert says_worn_out(post(service, 1))
        assert service.process.wait(60) == 1


def test_processes_that_are_replaced_while_the_database_is_away_answer_so_until_it_is_there(
    own_server: Server, tmp_path: Path
) -> None:
    with running(GUNICORN, tmp_path, own_server.new_database(), WORKERS="1") as service:
        first, before = service.processes()
        own_server.stop()
        try:
            os.kill(before, signal.SIGTERM)
            until(lambda: "nothing is served until the database answers" in service.log.read_text())
            answer = post(service, 0)
            assert (answer.status, answer.json()["type"]) == (503, "/problems/store-unavailable")
            assert int(answer.headers["Retry-After"]) > 0
            assert answer.headers["X-Content-Type-Options"] == "nosniff"
            assert Caller(service.port).get("/livez").json() == {"status": "alive"}
        finally:
            own_server.start()
        service.await_ready()
        assert post(service, 0).status == 201
        assert service.processes()[0] == first


def test_a_process_answers_so_many_requests_and_then_another_does(tmp_path: Path) -> None:
    command = [*GUNICORN, "--max-requests", "5", "--max-requests-jitter", "0"]
    with running(command, tmp_path, f"sqlite:///{tmp_path}/store.sqlite3", WORKERS="1") as service:
        _, before = service.processes()
        for _ in range(12):
            assert Caller(service.port).get("/livez").status == 200
        assert before not in service.processes()


def test_tls_is_not_asked_for_in_vain(tmp_path: Path) -> None:
    """A server that does not speak it must not answer in the clear instead."""
    key = tmp_path / "key.pem"
    key.write_text("not looked at")
    command = [*GUNICORN, "--certfile", str(key), "--keyfile", str(key)]
    with pytest.raises(RuntimeError, match="TLS is spoken by a proxy before the service"):
        start(command, tmp_path, f"sqlite:///{tmp_path}/store.sqlite3")
