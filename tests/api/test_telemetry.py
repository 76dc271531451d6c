"""Traces: what is sent of a request, what never is, and that no request waits for whoever takes them."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from checked_client import snapshot
from collector_at_hand import collector
from flask import Flask
from gunicorn_at_hand import paused, post, under_gunicorn
from keys_at_hand import NORTH, key, keyed_service, with_key
from packs_at_hand import line_item, told
from test_request_log import Written, writing

from api.running.environment import SettingsRefused, settings_from

pytest.importorskip("opentelemetry.sdk", reason="needs OpenTelemetry (the extra `telemetry`)")

from opentelemetry.sdk.trace import ReadableSpan
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from opentelemetry.trace import SpanKind, StatusCode

SECRET = "zq7secret4xw"
TRACE, PARENT = "4bf92f3577b34da6a3ce929d0e0e4736", "00f067aa0ba902b7"
STATUS = "http.response.status_code"
TOLD = {"http.request.method", "http.route", STATUS, "error.type"}


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> InMemorySpanExporter:
    exporter = InMemorySpanExporter()
    monkeypatch.setattr("api.running.tracing.sending", lambda: SimpleSpanProcessor(exporter))
    return exporter


@pytest.fixture
def traced(sent: InMemorySpanExporter, tmp_path: Path) -> Iterator[Flask]:
    """A service with keys that is traced, on the small pack."""
    app = keyed_service(tmp_path, telemetry=True)
    yield app
    snapshot(app).store.close()


@pytest.fixture
def written(caplog: pytest.LogCaptureFixture) -> Iterator[Written]:
    yield from writing("json", caplog)


def attributes(span: ReadableSpan) -> dict[str, Any]:
    return dict(span.attributes or {})


def test_a_line_item_leaves_a_request_with_its_three_steps(traced: Flask, sent: InMemorySpanExporter) -> None:
    assert with_key(traced, key(traced)).post("/v1/procedures", json=line_item()).status_code == 201
    *steps, request = sent.get_finished_spans()
    assert [each.name for each in steps] == ["deciding", "planning", "storing"]
    assert {each.parent and each.parent.span_id for each in steps} == {request.context.span_id}
    assert {each.context.trace_id for each in steps} == {request.context.trace_id}
    assert (request.name, request.kind, request.parent) == ("POST /v1/procedures", SpanKind.SERVER, None)
    assert attributes(request) == {
        "http.request.method": "POST",
        "http.route": "/v1/procedures",
        STATUS: 201,
    }
    assert request.resource.attributes["service.name"] == "stagewright"


def test_a_batch_stores_once_and_a_dry_run_never(traced: Flask, sent: InMemorySpanExporter) -> None:
    client = with_key(traced, key(traced))
    body = {"line_items": [line_item("R1"), line_item("R2")]}
    for query, stored in (("", 1), ("?dry_run=true", 0)):
        sent.clear()
        assert client.post(f"/v1/procedures/batch{query}", json=body).status_code == 200
        names = [span.name for span in sent.get_finished_spans()]
        assert [names.count(step) for step in ("deciding", "planning", "storing")] == [2, 2, stored]


@pytest.mark.parametrize(
    ("method", "path", "name", "told"),
    [
        (
            "GET",
            "/v1/procedures/pr-x",
            "GET /v1/procedures/{procedure_id}",
            {"http.response.status_code": 401},
        ),
        ("GET", "/livez", "GET /livez", {"http.response.status_code": 200}),
        ("GET", f"/{SECRET}", "GET", {"http.response.status_code": 404}),
        (SECRET, "/livez", "HTTP", {"http.response.status_code": 405, "http.request.method": "_OTHER"}),
    ],
)
def test_a_request_is_named_by_the_template_of_its_path(
    traced: Flask, sent: InMemorySpanExporter, method: str, path: str, name: str, told: dict[str, Any]
) -> None:
    traced.test_client().open(path, method=method)
    (span,) = sent.get_finished_spans()
    assert span.name == name
    assert attributes(span).items() >= told.items()
    assert span.status.status_code is StatusCode.UNSET


def test_of_a_failure_the_kind_is_told_and_no_more(
    traced: Flask, sent: InMemorySpanExporter, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError(SECRET)

    client = with_key(traced, key(traced))
    monkeypatch.setattr("api.issuing.plan", fail)
    told(client.post("/v1/procedures", json=line_item()), 500, "internal-error")
    _, planning, request = sent.get_finished_spans()
    assert attributes(planning) == {"error.type": "ZeroDivisionError"}
    assert attributes(request)["error.type"] == "500"
    assert (request.status.status_code, request.status.description) == (StatusCode.ERROR, None)
    assert SECRET not in everything(sent)


def everything(sent: InMemorySpanExporter) -> str:
    return "".join(span.to_json() for span in sent.get_finished_spans())


def test_nothing_that_was_sent_leaves_with_a_trace(traced: Flask, sent: InMemorySpanExporter) -> None:
    """Neither keys, bodies, queries, paths and headers, nor the shop, nor what is issued."""
    made = key(traced)
    client = with_key(traced, made)
    body = line_item(SECRET)
    issued: Any = client.post("/v1/procedures", json=body).json
    client.post("/v1/procedures", json=line_item(kind=SECRET))
    client.post("/v1/procedures", json={**body, SECRET: SECRET})
    client.get(f"/v1/procedures?line_item={SECRET}")
    client.get(f"/v1/procedures/{issued['id']}")
    client.get(f"/v1/stages?{SECRET}=1")
    headers = dict.fromkeys(("User-Agent", "X-Request-Id", "Idempotency-Key", "Baggage", "Host"), SECRET)
    client.post("/v1/procedures", json=body, headers=headers)
    traced.test_client().get("/v1/stages", headers={"Authorization": f"Bearer {SECRET}"})
    text = everything(sent)
    assert text.count("SpanKind.SERVER") == 8
    for secret in (SECRET, issued["id"], made.prefix, made.secret, NORTH):
        assert secret not in text
    assert {name for span in sent.get_finished_spans() for name in attributes(span)} <= TOLD
    assert not any(span.events or span.links for span in sent.get_finished_spans())


def test_a_request_is_a_part_of_the_trace_it_names(traced: Flask, sent: InMemorySpanExporter) -> None:
    traced.test_client().get("/livez", headers={"traceparent": f"00-{TRACE}-{PARENT}-01"})
    (span,) = sent.get_finished_spans()
    assert f"{span.context.trace_id:032x}" == TRACE
    assert span.parent is not None
    assert f"{span.parent.span_id:016x}" == PARENT


def test_a_caller_may_leave_a_request_out_of_traces(traced: Flask, sent: InMemorySpanExporter) -> None:
    client = with_key(traced, key(traced))
    headers = {"traceparent": f"00-{TRACE}-{PARENT}-00"}
    assert client.post("/v1/procedures", json=line_item(), headers=headers).status_code == 201
    assert sent.get_finished_spans() == ()


@pytest.mark.parametrize(
    "sent_as",
    ["", "x", f"00-{'0' * 32}-{PARENT}-01", f"ff-{TRACE}-{PARENT}-01", f"00-{TRACE}-{PARENT}", "é" * 9],
)
def test_a_trace_that_is_none_is_left_out_of_account(
    traced: Flask, sent: InMemorySpanExporter, sent_as: str
) -> None:
    assert traced.test_client().get("/livez", headers={"traceparent": sent_as}).status_code == 200
    (span,) = sent.get_finished_spans()
    assert span.parent is None


def test_every_line_of_the_log_names_the_trace_of_its_request(
    traced: Flask, sent: InMemorySpanExporter, written: Written
) -> None:
    traced.test_client().get("/v1/stages", headers={"Authorization": f"Bearer {key(traced).text[:-1]}x"})
    (span,) = sent.get_finished_spans()
    lines = [json.loads(line) for line in written.lines]
    assert [line["name"] for line in lines] == ["stagewright", "stagewright.requests"]
    for line in lines:
        assert line["trace_id"] == f"{span.context.trace_id:032x}"
        assert line["span_id"] == f"{span.context.span_id:016x}"
    logging.getLogger("stagewright").warning("outside of any request")
    assert "trace_id" not in json.loads(written.lines[-1])


def test_where_none_is_asked_for_the_library_is_not_imported(tmp_path: Path) -> None:
    code = f"""
import sys
from api.application import Settings, create_app
app = create_app(Settings("sqlite:///{tmp_path}/store.sqlite3", without_keys=True))
assert app.test_client().get("/v1/stages").status_code == 200
print([name for name in sys.modules if "opentelemetry" in name or "protobuf" in name])
"""
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout == "[]\n"


ENDPOINT = "OTEL_EXPORTER_OTLP_ENDPOINT"


@pytest.mark.parametrize(
    ("environment", "expected"),
    [
        ({}, False),
        ({ENDPOINT: ""}, False),
        ({"OTEL_SERVICE_NAME": "x", "OTEL_TRACES_EXPORTER": "otlp"}, False),
        ({ENDPOINT: "http://127.0.0.1:4318"}, True),
        ({"OTEL_EXPORTER_OTLP_TRACES_ENDPOINT": "http://127.0.0.1:4318/v1/traces"}, True),
        ({ENDPOINT: "http://127.0.0.1:4318", "OTEL_SDK_DISABLED": "TRUE"}, False),
        ({ENDPOINT: "http://127.0.0.1:4318", "OTEL_TRACES_EXPORTER": "none"}, False),
        ({ENDPOINT: "http://127.0.0.1:4318", "STAGEWRIGHT_TELEMETRY": "no"}, False),
        ({"STAGEWRIGHT_TELEMETRY": "yes"}, True),
    ],
)
def test_the_environment_asks_for_traces(environment: dict[str, str], expected: bool) -> None:
    assert settings_from(environment).telemetry is expected


def test_a_protocol_that_is_not_spoken_is_told() -> None:
    with pytest.raises(SettingsRefused, match=r"PROTOCOL is 'grpc'; traces are sent as http/protobuf"):
        settings_from({"STAGEWRIGHT_TELEMETRY": "yes", "OTEL_EXPORTER_OTLP_PROTOCOL": "grpc"})


@pytest.mark.parametrize("missing", ["opentelemetry", "opentelemetry.exporter"])
def test_where_the_library_lacks_the_service_says_so_and_does_not_start(missing: str) -> None:
    code = f"import sys; sys.modules['{missing}'] = None; from api.commands import main; main(['serve'])"
    ended = subprocess.run(
        [sys.executable, "-c", code],
        env={ENDPOINT: "http://127.0.0.1:4318", "STAGEWRIGHT_LISTEN_PORT": "0"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ended.returncode == 1
    assert "install stagewright[telemetry]" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_every_process_sends_its_traces_and_what_is_left_when_it_ends(tmp_path: Path) -> None:
    """Each makes its sender after the fork; the last spans are sent before a process is gone."""
    with (
        collector() as (endpoint, received),
        # So that nothing is sent but at the end.
        under_gunicorn(tmp_path, **{ENDPOINT: endpoint, "OTEL_BSP_SCHEDULE_DELAY": "3600000"}) as running,
    ):
        running.await_("in force: pack", times=2)
        for asleep in running.workers:
            with paused(asleep):
                assert post(running.address).status_code == 201
        running.process.terminate()
        assert running.process.wait(60) == 0
        assert sorted(span.name for span in received if span.name != "GET /readyz") == sorted(
            2 * ["POST /v1/procedures", "deciding", "planning", "storing"]
        )
    lines = [json.loads(line) for line in running.log.read_text().splitlines()]
    logged = {line["trace_id"] for line in lines if line.get("route") == "/v1/procedures"}
    assert logged == {span.trace_id.hex() for span in received}
    assert len(logged) == 2


def test_no_request_minds_that_nobody_takes_the_traces(tmp_path: Path) -> None:
    more = {
        ENDPOINT: "http://127.0.0.1:1",
        "OTEL_BSP_SCHEDULE_DELAY": "10",
        "OTEL_EXPORTER_OTLP_TIMEOUT": "1",
    }
    with under_gunicorn(tmp_path, **more) as running:
        running.await_("in force: pack", times=2)
        for _ in range(20):
            assert post(running.address).status_code == 201
        running.await_("Failed to export spans batch")
        assert post(running.address).status_code == 201
        running.process.terminate()
        assert running.process.wait(60) == 0
