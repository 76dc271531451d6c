"""What a request asks for, as a digest, and what was answered, as it is kept."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from flask import Request, Response

from api.answers import JSON
from api.problem_types import IDEMPOTENCY_KEY_REUSED, IDEMPOTENCY_KEY_RUNNING
from api.problems import Problem
from schemas.strict_json import MalformedJson, read_json
from storage.idempotency import GivenAnswer, Taken
from storage.records import canonical_text

REPLAYED = "Idempotency-Replayed"
RETRY_AFTER_S = 2

_KEPT_HEADERS = ("Content-Type", "Cache-Control", "ETag", "Location", "Vary")

# About who asks, how often and when, not about what: asked again, these may be answered otherwise.
_PASSING = (401, 403, 408, 429)


def digest_of(req: Request) -> str:
    """The same for requests that ask for the same: of a JSON body its value counts, not how it is written."""
    form = [req.mimetype, req.headers.get("Content-Encoding", "identity")]
    return digest(req.method, req.path, req.query_string.decode("latin-1"), form, _payload(req))


def digest_of_item(path: str, given: dict[str, Any]) -> str:
    """Of a line item of a batch: that of the same line item sent alone to `path`."""
    return digest("POST", path, "", [JSON, "identity"], ["json", given])


def digest(method: str, path: str, query: str, form: list[str], payload: list[Any]) -> str:
    """SHA-256, in hexadecimal."""
    return sha256(canonical_text([method, path, query, form, payload]).encode()).hexdigest()


def _payload(req: Request) -> list[Any]:
    data = req.get_data()
    if req.mimetype == JSON:
        try:
            return ["json", read_json(data)]
        except MalformedJson:
            pass  # the view refuses it; that answer is kept too
    return ["bytes", sha256(data).hexdigest()]


def is_final(response: Response) -> bool:
    """Whether the same request is always to be answered so: with what was created, or a refusal of it."""
    return response.status_code < 500 and response.status_code not in _PASSING


def as_kept(response: Response) -> GivenAnswer:
    """An answer as it is kept."""
    headers = {name: response.headers[name] for name in _KEPT_HEADERS if name in response.headers}
    return GivenAnswer(response.status_code, headers, response.get_data())


def replayed(given: GivenAnswer) -> Response:
    """An answer as it was given."""
    return Response(given.body, given.status, {**given.headers, REPLAYED: "true"})


def problem_of(taken: Taken) -> Problem:
    """Why a key can't be used."""
    if taken is Taken.RUNNING:
        headers = {"Retry-After": str(RETRY_AFTER_S)}
        return Problem(IDEMPOTENCY_KEY_RUNNING, "the first request with this key is at work", headers=headers)
    told = "this key was used for another request; use a new key for every new request"
    return Problem(IDEMPOTENCY_KEY_REUSED, told)
