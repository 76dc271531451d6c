"""Whether the service lives, and whether it can work."""

from __future__ import annotations

from flask import Response

from api.answers import answer
from api.nouns import Noun
from api.problem_types import STORE_UNAVAILABLE
from api.snapshot import current
from schemas.operation import Alive, Ready, Service
from schemas.procedure.document import pack_named

operation = Noun("operation", __name__, description=__doc__)


@operation.at("/")
@operation.gives(200, Service, "Where to go on.")
def read_service() -> Response:
    """Say what this is."""
    links = {"openapi": "/openapi.json", "docs": "/docs", "problems": "/problems", "ready": "/readyz"}
    return answer({"service": "stagewright", "links": links})


@operation.at("/livez")
@operation.gives(200, Alive, "The process answers.")
def read_liveness() -> Response:
    """Tell that the process answers."""
    return answer({"status": "alive"})


@operation.at("/readyz")
@operation.gives(200, Ready, "Line items are served.")
@operation.refuses(STORE_UNAVAILABLE)
def read_readiness() -> Response:
    """Tell whether line items can be served, and by which pack and engine."""
    snapshot = current()
    snapshot.store.ready()
    return answer(
        {
            "status": "ready",
            "engine": snapshot.decider.engine.name,
            "pack": pack_named(snapshot.pack),
            "database": "ready",
        }
    )
