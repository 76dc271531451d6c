"""What the server reads and refuses by itself, before the application sees it."""

from __future__ import annotations

import re
from time import monotonic, time
from uuid import uuid4

from flask import Response
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.task import ErrorTask, WSGITask
from waitress.utilities import Error

from api.headers import add_security_headers
from api.problem_types import BODY_TOO_LARGE, INTERNAL_ERROR, REQUEST_REFUSED
from api.problems import Problem
from api.request_ids import HEADER as REQUEST_ID

RECEIVED_WITHIN_S = 120.0
"""So long a request may take to arrive."""

STALLED_AFTER_S = 5.0
"""After so long without a byte a server that ends does not wait for the rest of a request."""

_CODINGS = re.compile(rb"^transfer-encoding:(.*)$", re.IGNORECASE | re.MULTILINE)
_HOST = re.compile(r"[^\s/\\?#@,]*")
_TARGETS = ("/", "http://", "https://", "*")


class StrictParser(HTTPRequestParser):  # type: ignore[misc]
    """Refuses what another reader, a proxy say, may understand differently (RFC 9112, 3.2, 6.1 and 11.2)."""

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head of a request. Raises ParsingError."""
        if len(b",".join(_CODINGS.findall(header_plus)).split(b",")) > 1:
            raise ParsingError("Transfer-Encoding names more than one coding")
        if b"\r\n " in header_plus or b"\r\n\t" in header_plus:
            raise ParsingError("a header is folded over several lines")
        try:
            super().parse_header(header_plus)
        except ValueError as error:
            raise ParsingError("the address or Content-Length cannot be read") from error
        if self.chunked and "CONTENT_LENGTH" in self.headers:
            raise ParsingError("Content-Length and Transfer-Encoding contradict each other; send one of them")
        if "TRANSFER_ENCODING" in self.headers:
            raise ParsingError(f"HTTP/{self.version} has no Transfer-Encoding")
        if self.version == "1.1" and "HOST" not in self.headers:
            raise ParsingError("Host is missing")
        if not _HOST.fullmatch(self.headers.get("HOST", "")):
            raise ParsingError("Host is not one host")
        if not self.request_uri.startswith(_TARGETS) or self.request_uri.startswith("//"):
            raise ParsingError("the address does not begin with one slash")


class RefusalTask(ErrorTask):  # type: ignore[misc]
    """Answers a request that is not HTTP as the server reads it; the connection ends with it."""

    def execute(self) -> None:
        """Write the answer."""
        response = problem_of(self.request.error)
        body = response.get_data()
        self.status = response.status
        self.response_headers.extend(response.headers.to_wsgi_list())
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class LastTask(WSGITask):  # type: ignore[misc]
    """Answers a request; while the server ends, the connection ends with it."""

    def build_response_header(self) -> bytes:
        """The head of the answer."""
        if getattr(self.channel.server, "ending", False):
            self.set_close_on_finish()
        head: bytes = super().build_response_header()
        return head


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that is read strictly and not for ever, and whose refusals are problem documents."""

    task_class = LastTask
    error_task_class = RefusalTask
    parser_class = StrictParser
    began_s = 0.0

    @property
    def under_way(self) -> bool:
        """Whether a request is at work or being received, or an answer is being sent."""
        arriving = self.request is not None and time() - self.last_activity < STALLED_AFTER_S
        return bool(self.requests) or self.total_outbufs_len > 0 or arriving

    def received(self, data: bytes) -> bool:
        """Take in what has come."""
        if self.request is None:
            self.began_s = monotonic()
        taken: bool = super().received(data)
        return taken

    def readable(self) -> bool:
        """Whether more is to be read: of no request without an end."""
        if self.request is not None and monotonic() - self.began_s > RECEIVED_WITHIN_S:
            self.will_close = True
        return bool(super().readable())


def problem_of(error: Error) -> Response:
    """The problem document for an error of the server."""
    kind = INTERNAL_ERROR if error.code == 500 else REQUEST_REFUSED
    if error.code == BODY_TOO_LARGE.status:
        kind = BODY_TOO_LARGE
    response = add_security_headers(Problem(kind, str(error.body), status=error.code).response())
    # Its own one may be what could not be read.
    response.headers[REQUEST_ID] = uuid4().hex
    return response
