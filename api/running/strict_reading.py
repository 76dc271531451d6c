"""What the server reads and refuses by itself, before the application sees it."""

from __future__ import annotations

import re
from uuid import uuid4

from flask import Response
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import BaseWSGIServer
from waitress.task import ErrorTask
from waitress.utilities import Error

from api.headers import add_security_headers
from api.problem_types import BODY_TOO_LARGE, INTERNAL_ERROR, REQUEST_REFUSED
from api.problems import Problem
from api.request_ids import HEADER as REQUEST_ID

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


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that is read strictly, and whose refusals are problem documents."""

    error_task_class = RefusalTask
    parser_class = StrictParser


def read_strictly(server: BaseWSGIServer) -> None:
    """Let a server that does not run yet refuse what is ambiguous, and tell its refusals as problems."""
    server.channel_class = Channel


def problem_of(error: Error) -> Response:
    """The problem document for an error of the server."""
    kind = INTERNAL_ERROR if error.code == 500 else REQUEST_REFUSED
    if error.code == BODY_TOO_LARGE.status:
        kind = BODY_TOO_LARGE
    response = add_security_headers(Problem(kind, str(error.body), status=error.code).response())
    # Its own one may be what could not be read.
    response.headers[REQUEST_ID] = uuid4().hex
    return response
