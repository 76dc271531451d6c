"""The answer of a batch, from the answers of its line items."""

from __future__ import annotations

import json
from collections.abc import Sequence

from flask import Response


def results(given: Sequence[Response]) -> list[bytes]:
    """The answer in pieces. Procedures are taken over as they are written; a problem gets its index."""
    pieces = [b'{"results": [']
    for index, response in enumerate(given):
        pieces += [b", ", _result(index, response)] if index else [_result(index, response)]
    return [*pieces, b"]}"]


def _result(index: int, response: Response) -> bytes:
    if response.status_code < 400:
        return response.get_data()
    return json.dumps({**json.loads(response.get_data()), "index": index}).encode()
