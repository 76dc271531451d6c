"""The spans of a request. This alone knows OpenTelemetry, and is imported only where traces are asked for.

What leaves the service is all written out here: method, template of the path, status, names of steps and
kinds of errors. Ready-made instrumentation sends paths, queries and statements too, and with them ids and
references of line items.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import version

from flask import Response, g, request
from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
from opentelemetry.sdk.resources import OTELResourceDetector, Resource
from opentelemetry.sdk.trace import SpanProcessor, TracerProvider
from opentelemetry.sdk.trace.export import BatchSpanProcessor
from opentelemetry.trace import SpanKind, StatusCode, format_span_id, format_trace_id, set_span_in_context
from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator

from api.running.observing import NOWHERE, OTHER, method, route

NAME = "stagewright"


def sending() -> SpanProcessor:
    """Sends spans as the standard variables say, from a thread of its own: no request waits for it."""
    return BatchSpanProcessor(OTLPSpanExporter())


class Tracing:
    """Begins and ends the spans of one application; `processor` takes what has ended."""

    def __init__(self, processor: SpanProcessor) -> None:
        provider = TracerProvider(resource=_resource())
        provider.add_span_processor(processor)
        self._tracer = provider.get_tracer(NAME, version(NAME))
        self._context = TraceContextTextMapPropagator()

    def begin(self) -> None:
        """Begin the span of a request, in the trace that `traceparent` (W3C) names, if it does."""
        told = {"http.request.method": "_OTHER" if method() == OTHER else method()}
        if route() != NOWHERE:
            told["http.route"] = route()
        name = " ".join(told.values()).replace("_OTHER", "HTTP")
        g.span = self._tracer.start_span(name, self._context.extract(request.headers), SpanKind.SERVER, told)

    def end(self, response: Response) -> Response:
        """End the span of a request."""
        g.span.set_attribute("http.response.status_code", response.status_code)
        if response.status_code >= 500:
            g.span.set_attribute("error.type", str(response.status_code))
            g.span.set_status(StatusCode.ERROR)
        g.span.end()
        return response

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        """A span within that of the request. Of an error only its kind is told; its message holds values."""
        span = self._tracer.start_span(name, set_span_in_context(g.span))
        try:
            yield
        except Exception as error:
            span.set_attribute("error.type", type(error).__name__)
            raise
        finally:
            span.end()

    def ids(self) -> dict[str, str]:
        """Of the request under way, as OpenTelemetry names them in logs."""
        context = g.span.get_span_context()
        return {"trace_id": format_trace_id(context.trace_id), "span_id": format_span_id(context.span_id)}


def _resource() -> Resource:
    """Who sends the traces; OTEL_SERVICE_NAME and OTEL_RESOURCE_ATTRIBUTES go before what is said here."""
    own = {"service.name": NAME, "service.version": version(NAME)}
    return Resource.create(own | dict(OTELResourceDetector().detect().attributes))
