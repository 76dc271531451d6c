import os
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
import requests
from click.testing import CliRunner

from api.commands import main
from api.demo.faults import DemoFailed
from api.demo.service import HOST, free_port, start_service, wait_until_ready
from api.demo.shop_software import invented_line_items, new_session, procedure_for

README = Path(__file__).parents[2] / "README.md"
BODY = {"line_item": {"reference": "RO-1"}}
PROBLEM = b"""{"title": "The line item is refused", "detail": "1 fault",
 "errors": [{"pointer": "/part/material", "detail": "is missing"}]}"""


class Refusing(BaseHTTPRequestHandler):
    def do_POST(self) -> None:
        self.rfile.read(int(self.headers["Content-Length"]))
        self.send_response(422)
        self.end_headers()
        self.wfile.write(PROBLEM)

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def refusing_service() -> Iterator[str]:
    with HTTPServer((HOST, 0), Refusing) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://{HOST}:{server.server_port}"
        server.shutdown()
        thread.join()


@pytest.fixture
def port() -> int:
    """A port that nobody listens on."""
    with socket.create_server((HOST, 0)) as taken:
        number: int = taken.getsockname()[1]
    return number


def assert_shown_in_readme(output: str) -> None:
    """The readme shows parts of the output, in their order; `…` is what it leaves out."""
    (shown,) = re.findall(
        r"^```text\n(.*?)^```", README.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE
    )
    parts = (re.escape(part) for part in shown.split("…"))
    assert re.search(".*?".join(parts), output, re.DOTALL), (
        "the readme shows another output of the demonstration"
    )


def test_the_demonstration_answers_every_line_item_and_leaves_nothing_running(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, port: int
) -> None:
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, ["demo", "--once", "--port", str(port)])
    assert result.exit_code == 0, result.output
    assert "(an invented shop)" in result.output
    dispositions = re.findall(r"^    (REPAIR|REPLACE|REFER): ", result.output, re.MULTILINE)
    assert dispositions == ["REPAIR", "REPAIR", "REPAIR", "REFER", "REPAIR", "REPLACE"]
    assert max(map(len, result.output.splitlines())) <= 100
    assert_shown_in_readme(result.output)
    with pytest.raises(requests.ConnectionError):
        new_session().get(f"http://{HOST}:{port}/livez", timeout=5)


def test_the_service_is_left_running_and_the_demonstration_tells_how_to_stop_it(tmp_path: Path) -> None:
    with socket.create_server((HOST, 0)) as taken:
        port = taken.getsockname()[1]
        command = [sys.executable, "-m", "api.commands", "demo", "--port", str(port)]
        output = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True).stdout
    told = re.search(r"running at (http://\S+) as process (\d+)\.\n  stop it:   kill (\d+)\n", output)
    assert told is not None
    address, process, to_stop = told.groups()
    try:
        assert process == to_stop
        assert f"Port {port} is taken; using {address.rpartition(':')[2]}." in output
        timeline = re.search(rf"timeline\.svg ({address}\S+)", output)
        assert timeline is not None
        with new_session() as session:
            drawing = session.get(timeline[1], headers={"Accept": "image/svg+xml"}, timeout=10)
        assert drawing.text.startswith("<svg")
    finally:
        os.kill(int(process), signal.SIGTERM)


def test_a_service_that_cannot_start_fails_the_demonstration_with_what_it_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, port: int
) -> None:
    monkeypatch.chdir(tmp_path)
    Path(f".demo/store-{port}.sqlite3").mkdir(parents=True)
    result = CliRunner().invoke(main, ["demo", "--once", "--port", str(port)])
    assert result.exit_code == 1
    assert "the service ended at once; it said:" in result.output
    assert "cannot use the database sqlite:///" in result.output


def test_a_service_starts_on_a_new_database_whatever_an_earlier_one_left(tmp_path: Path, port: int) -> None:
    left = tmp_path / f"store-{port}.sqlite3"
    left.write_bytes(b"no database at all")
    service = start_service(tmp_path, port)
    try:
        wait_until_ready(service)
    finally:
        service.stop()


def test_a_service_that_does_not_get_ready_in_time_is_told(tmp_path: Path, port: int) -> None:
    service = start_service(tmp_path, port)
    try:
        with pytest.raises(DemoFailed, match="was not ready within 0 s"):
            wait_until_ready(service, within_s=0.0)
    finally:
        service.stop()
    assert service.process.poll() is not None


def test_a_refused_line_item_is_named_with_every_fault(refusing_service: str) -> None:
    with new_session() as session, pytest.raises(DemoFailed) as failed:
        procedure_for(session, refusing_service, BODY)
    assert str(failed.value) == ("RO-1: 422 The line item is refused: 1 fault\n  /part/material: is missing")


def test_a_service_that_does_not_answer_is_named(port: int) -> None:
    with new_session() as session, pytest.raises(DemoFailed, match=f"RO-1: no usable answer from .*:{port}"):
        procedure_for(session, f"http://{HOST}:{port}", BODY)


def test_a_taken_port_is_passed_over() -> None:
    with socket.create_server((HOST, 0)) as taken:
        port = taken.getsockname()[1]
        assert free_port(port) > port


def test_the_line_items_say_that_they_are_invented() -> None:
    shop, stories = invented_line_items()
    assert "invented" in shop
    assert all("(invented)" in story.about for story in stories)
    references = [story.body["line_item"]["reference"] for story in stories]
    assert len(set(references)) == len(references)
