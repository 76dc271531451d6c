"""Sandboxes in the OpenAPI document."""

from __future__ import annotations

from typing import Any

from api.keys.description import SCHEME
from api.sandbox.telling import HEADER
from api.sandbox.triggers import TRIGGERS

Json = dict[str, Any]

_NAME = "Sandbox"


_ABOUT = """\


A key `sw_sandbox_<prefix>_<secret>` is for trying out. It works in the sandbox of its shop, whose line items
are kept apart; answers to what it may ask for carry `{header}: true`. There, and nowhere else,
`POST /v1/procedures` answers these references of line items so:

{triggers}"""


def describe_sandboxes(document: Json) -> None:
    """Add the header to the components of a document, and what a sandbox is to the scheme of keys."""
    about = "`true` where a key of a sandbox asked for what it may, refusals too; else it is missing."
    components, schema = document["components"], {"type": "string", "enum": ["true"]}
    components["headers"] = {_NAME: {"description": about, "schema": schema}}
    triggers = "\n".join(f"- `{reference}`: {trigger.about}" for reference, trigger in TRIGGERS.items())
    components["securitySchemes"][SCHEME]["description"] += _ABOUT.format(header=HEADER, triggers=triggers)


def tell_of_sandbox(described: Json) -> None:
    """Write into an operation that asks for a key which header its answers may carry."""
    if "security" in described:
        for status, response in described["responses"].items():
            if status.startswith("2"):
                headers = {HEADER: {"$ref": f"#/components/headers/{_NAME}"}}
                response["headers"] = response.get("headers", {}) | headers
