"""Whether the service lives, and whether it can work."""

from __future__ import annotations

import json

from flask import Response

from api.answers import JSON, answer, conditional
from api.keys.scopes import ADMIN, OPEN
from api.nouns import ETAG, Noun, header
from api.outages import refuse_worn_out
from api.problem_types import ENGINE_WORN_OUT, SERVICE_ONLY, STORE_UNAVAILABLE
from api.problems import Problem
from api.running.metrics import CONTENT_TYPE, MEDIA_TYPE, metrics_of
from api.shops import LOCAL, current_shop
from api.snapshot import current
from schemas.operation import Alive, ApiCatalog, Ready, Service
from schemas.procedure.document import pack_named

CATALOG = "/.well-known/api-catalog"
LINKSET = "application/linkset+json"
PROFILE = "https://www.rfc-editor.org/info/rfc9727"
THIS_API = "/v1"

operation = Noun("operation", __name__, description=__doc__, scope=OPEN)


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
@operation.refuses(STORE_UNAVAILABLE, ENGINE_WORN_OUT)
def read_readiness() -> Response:
    """Tell whether line items can be served, and by which pack and engine."""
    snapshot = current()
    refuse_worn_out()
    snapshot.store.ready()
    return answer(
        {
            "status": "ready",
            "engine": snapshot.decider.engine.name,
            "pack": pack_named(snapshot.pack),
            "database": "ready",
        }
    )


@operation.at("/metrics", scope=ADMIN)
@operation.draws(MEDIA_TYPE, "The figures.")
@operation.refuses(SERVICE_ONLY, STORE_UNAVAILABLE)
def read_metrics() -> Response:
    """Count for Prometheus: requests, decisions, what waits; in its text format.

    The figures are of all shops together, so the key must be one of the shop `local`, which runs the service.
    """
    if current_shop() != LOCAL:
        told = f"the figures count all shops together; they are read by keys of the shop '{LOCAL}' alone"
        raise Problem(SERVICE_ONLY, told)
    return Response(metrics_of().page(current()), content_type=CONTENT_TYPE)


@operation.at(CATALOG)
@operation.gives(
    200,
    ApiCatalog,
    "The catalogue.",
    content_type=LINKSET,
    headers=ETAG | header("Link", '`rel="api-catalog"`: this address.'),
)
def read_api_catalog() -> Response:
    """List the API with its descriptions, as other programs look for it (RFC 9727).

    References are relative to this address, so that they hold behind any proxy.
    """
    described = {
        "anchor": THIS_API,
        "service-desc": [{"href": "/openapi.json", "type": JSON}],
        "service-doc": [{"href": "/docs", "type": "text/html"}],
        "status": [{"href": "/readyz", "type": JSON}],
    }
    linkset = [{"anchor": CATALOG, "item": [{"href": THIS_API}]}, described]
    response = Response(json.dumps({"linkset": linkset}), content_type=f'{LINKSET}; profile="{PROFILE}"')
    response.headers["Link"] = f'<{CATALOG}>; rel="api-catalog"'
    return conditional(response)
