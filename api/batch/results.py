"""The answer of a batch, from the answers of its line items."""

from __future__ import annotations

import json
from collections.abc import Sequence

from flask import Response


def results_text(given: Sequence[Response]) -> str:
    """`results` as JSON. Procedures are taken over as they are written; a problem gets its index."""
    texts = [_result(index, response) for index, response in enumerate(given)]
    return f'{{"results": [{", ".join(texts)}]}}'


def _result(index: int, response: Response) -> str:
    text = response.get_data(as_text=True)
    if response.status_code < 400:
        return text
    return json.dumps({**json.loads(text), "index": index})
