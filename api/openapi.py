"""The OpenAPI document: generated from the blueprints and schemas, fitted to a rule pack."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.metadata import version

import yaml
from flask import Flask
from flask_smorest import Api

from api.actuals import actuals
from api.alternatives import part_from_null
from api.batch.view import batches
from api.catalogue import catalogue
from api.deprecation import mark
from api.description import Json, fit_to_pack
from api.estimates import estimates, reports
from api.idempotency.describing import tell_of_keys
from api.identifications import identifications
from api.keys.description import describe_keys, tell_of_scope
from api.limiting.describing import tell_of_quota
from api.links.views import links
from api.operation import operation
from api.outages import tell_of_outages
from api.packs.active import activation
from api.packs.kept import DigestConverter, packs
from api.problems import MEDIA_TYPE
from api.procedures import ProcedureConverter, procedures
from api.sandbox.describing import describe_sandboxes, tell_of_sandbox
from api.webhooks.deliveries import deliveries
from api.webhooks.describing import describe_events
from api.webhooks.views import webhooks
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack
from schemas.problem import ProblemAnswer

_MEMBERS = ("openapi", "info", "servers", "tags", "paths", "webhooks", "components")

_ABOUT = """\
Give a line item for a damaged plastic vehicle part; get its procedure: whether the part can be repaired
at all, the stages in order, the time windows between them, how long each takes and how sure that is,
what it consumes and emits, what it costs, and what can hurt the person who does it.

Numbers carry their unit in the name (`_mm`, `_min`, `_c`, ...). Money and mixing quantities are decimal
strings. Times are RFC 3339 with offset. Nothing is converted and nothing is ignored: unknown members and
query parameters are refused. Errors are problem documents (RFC 9457). Every answer names the rule pack.
Where the service holds shops to a quota, every answer to a key carries `RateLimit-Policy` and `RateLimit`.
Every answer carries `X-Request-Id`: the one that was sent, or a new one; the log of the service names it.

The vehicle maker's procedure, safety data sheets, local codes and licensed practice go before every answer.
"""


class DocumentedApi(Api):  # type: ignore[misc]
    """Describes errors as what they are."""

    ERROR_SCHEMA = ProblemAnswer
    # Answers name their own content type; this is for what is left, the default error.
    DEFAULT_RESPONSE_CONTENT_TYPE = MEDIA_TYPE


def mount(app: Flask) -> DocumentedApi:
    """Register every blueprint of the API with the application."""
    app.config |= {
        "API_TITLE": "stagewright",
        "API_VERSION": version("stagewright"),
        "OPENAPI_VERSION": "3.1.0",
    }
    app.url_map.converters |= {"procedure": ProcedureConverter, "digest": DigestConverter}
    api = DocumentedApi(app, spec_kwargs={"info": {"description": _ABOUT}, "servers": [{"url": "/"}]})
    for blueprint in (
        procedures,
        batches,
        actuals,
        estimates,
        reports,
        links,
        identifications,
        packs,
        activation,
        webhooks,
        deliveries,
        catalogue,
        operation,
    ):
        api.register_blueprint(blueprint)
    return api


def openapi_document(pack: Pack) -> Json:
    """The document as plain JSON values, with the vocabulary of `pack`."""
    spec = mount(Flask("stagewright")).spec
    spec.options["webhooks"] = describe_events(spec)
    generated: Json = json.loads(json.dumps(spec.to_dict()))
    document = {member: generated[member] for member in _MEMBERS}
    # The generator adds it for a way of paging that is not used here.
    del document["components"]["schemas"]["PaginationMetadata"]
    for method, operation_ in _operations(document):
        if method == "get":
            _tell_of_revalidation(operation_)
        mark(operation_)
        tell_of_keys(operation_)
        tell_of_quota(operation_)
        tell_of_outages(method, operation_)
        tell_of_scope(operation_)
        tell_of_sandbox(operation_)
        operation_["responses"] = dict(sorted(operation_["responses"].items()))
    describe_keys(document)
    describe_sandboxes(document)
    fit_to_pack(document, pack)
    for schema in document["components"]["schemas"].values():
        part_from_null(schema)
    return document


def openapi_yaml() -> str:
    """The document for the base pack, as `openapi.yaml` holds it."""
    return as_yaml(openapi_document(load_folder(BASE_PACK)))


def as_yaml(document: Json) -> str:
    """A document as a file for people and programs."""
    return yaml.dump(document, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110)


def _operations(document: Json) -> Iterator[tuple[str, Json]]:
    for path in document["paths"].values():
        yield from ((method, path[method]) for method in ("get", "post", "put", "delete") if method in path)


def _tell_of_revalidation(described: Json) -> None:
    answer = described["responses"].get("200", {})
    if "ETag" in answer.get("headers", {}):
        described.setdefault("parameters", []).append(
            {
                "in": "header",
                "name": "If-None-Match",
                "description": "An `ETag` that the caller has; while it holds, the answer is 304.",
                "required": False,
                "schema": {"type": "string"},
            }
        )
        described["responses"]["304"] = {"description": "The caller has it already."}


class _Dumper(yaml.SafeDumper):
    """Writes texts of several lines as they are read, and the same thing twice where it stands twice."""

    def ignore_aliases(self, data: object) -> bool:
        return True


def _text(dumper: _Dumper, text: str) -> yaml.Node:
    style = "|" if "\n" in text else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_Dumper.add_representer(str, _text)
