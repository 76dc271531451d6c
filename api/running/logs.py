"""How the log is written, and the one line that every request leaves in it.

A line never holds what a caller sent in a body, a query, a path or a key; a key is named by its prefix.
"""

from __future__ import annotations

import logging

from flask import g
from pythonjsonlogger.core import LogData
from pythonjsonlogger.json import JsonFormatter

from api.request_ids import request_id
from api.running.observing import Answered
from api.running.telemetry import trace_ids

FORMATS = ("json", "text")

_requests = logging.getLogger("stagewright.requests")


def write_log(log_format: str) -> None:
    """Write what is logged from INFO on to standard error, in one of FORMATS."""
    handler = logging.StreamHandler()
    handler.setFormatter(formatter(log_format))
    logging.basicConfig(level=logging.INFO, handlers=[handler])


def formatter(log_format: str) -> logging.Formatter:
    """`json` writes an object a line, with what is given as `extra`; `text` writes for people."""
    if log_format == "text":
        return logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
    return _JsonFormatter(
        "{levelname}{name}{message}", style="{", rename_fields={"levelname": "level"}, timestamp=True
    )


class _JsonFormatter(JsonFormatter):
    """Names the trace of the request under way in every line, where there is one."""

    def process_log_record(self, log_data: LogData) -> LogData:
        return {**log_data, **trace_ids()}


def log_request(answered: Answered) -> None:
    """Write the line of the request under way."""
    caller = g.get("caller")
    duration_ms = round(answered.duration_s * 1000, 1)
    _requests.info(
        "%s %s %d in %.1f ms, request %s",
        answered.method,
        answered.route,
        answered.status,
        duration_ms,
        request_id(),
        extra={
            "method": answered.method,
            "route": answered.route,
            "status": answered.status,
            "duration_ms": duration_ms,
            "request_id": request_id(),
            "shop": caller and caller.shop,
            "key": caller and caller.key,
        },
    )
