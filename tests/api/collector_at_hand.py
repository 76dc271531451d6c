"""A collector of traces on 127.0.0.1, which takes OTLP over HTTP and keeps the spans."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any


@contextmanager
def collector() -> Iterator[tuple[str, list[Any]]]:
    """Its address, and what it has received so far."""
    from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest

    received: list[Any] = []

    class Taking(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            assert self.path == "/v1/traces"
            body = self.rfile.read(int(self.headers["Content-Length"]))
            for resource in ExportTraceServiceRequest.FromString(body).resource_spans:
                received.extend(span for scope in resource.scope_spans for span in scope.spans)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Says nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Taking)
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}", received
    server.shutdown()
    server.server_close()
