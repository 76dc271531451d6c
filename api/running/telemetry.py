"""Traces for OpenTelemetry, where the environment asks for them; where it does not, nothing is imported."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, nullcontext
from importlib.util import find_spec
from typing import TYPE_CHECKING

from flask import Flask, current_app, g, has_request_context

if TYPE_CHECKING:
    from api.running.tracing import Tracing

PROTOCOL = "http/protobuf"

_ENDPOINTS = ("OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT")
_PROTOCOLS = ("OTEL_EXPORTER_OTLP_PROTOCOL", "OTEL_EXPORTER_OTLP_TRACES_PROTOCOL")
_NEEDED = ("opentelemetry.sdk", "opentelemetry.exporter.otlp.proto.http")
_KEY = "stagewright-telemetry"


def asked_for(environment: Mapping[str, str]) -> bool:
    """Whether the standard variables of OpenTelemetry ask for traces: they name where to send them."""
    disabled = environment.get("OTEL_SDK_DISABLED", "").lower() == "true"
    if disabled or environment.get("OTEL_TRACES_EXPORTER") == "none":
        return False
    return any(environment.get(name) for name in _ENDPOINTS)


def refusals(environment: Mapping[str, str]) -> Iterator[str]:
    """Why traces that are asked for cannot be sent, one sentence for each reason."""
    if not all(map(_is_there, _NEEDED)):
        yield "traces are asked for, and OpenTelemetry is not there; install stagewright[telemetry]"
    for name in _PROTOCOLS:
        given = environment.get(name)
        if given and given != PROTOCOL:
            yield f"{name} is '{given}'; traces are sent as {PROTOCOL}, which collectors take at port 4318"


def trace_requests(app: Flask) -> None:
    """Send a trace of every request; to be called before any other hook of `app` is set.

    The thread that sends them does not outlive a fork: call it in the process that answers.
    """
    from api.running.tracing import Tracing, sending

    tracing = Tracing(sending())
    app.extensions[_KEY] = tracing
    app.before_request(tracing.begin)
    app.after_request(tracing.end)


def step(name: str) -> AbstractContextManager[None]:
    """What is done within is a step of the request under way, where that is traced."""
    tracing = _tracing()
    return nullcontext() if tracing is None else tracing.step(name)


def trace_ids() -> dict[str, str]:
    """The ids by which the trace of the request under way is found; empty where there is none."""
    tracing = _tracing()
    return {} if tracing is None else tracing.ids()


def _tracing() -> Tracing | None:
    if not has_request_context() or "span" not in g:
        return None
    tracing: Tracing = current_app.extensions[_KEY]
    return tracing


def _is_there(module: str) -> bool:
    try:
        return find_spec(module) is not None
    except ModuleNotFoundError:  # not even the package it would be in
        return False
