"""Keys in the OpenAPI document: the scheme, and for every operation the scope it needs."""

from __future__ import annotations

from typing import Any

from api.idempotency.describing import also_refuses
from api.problem_types import KEY_REFUSED, SCOPE_MISSING
from storage.key_records import SCOPES

Json = dict[str, Any]

SCHEME = "key"

_CHALLENGE = {"WWW-Authenticate": {"description": "What is asked for.", "schema": {"type": "string"}}}

_ABOUT = (
    "A key of the shop, `sw_<prefix>_<secret>`, as whoever runs the service gives it out. It is for one or "
    "more scopes:\n{scopes}\n\nEvery operation that asks for a key names the scope it needs. A service that "
    "was started with `--open` asks for none and serves its own machine alone."
)


def requirement(scope: str) -> list[Json]:
    """The security requirement of an operation."""
    return [{SCHEME: [scope]}]


def describe_keys(document: Json) -> None:
    """Add the scheme to the components of a document."""
    scopes = "".join(f"\n- `{scope}`: {about}" for scope, about in SCOPES.items())
    document["components"]["securitySchemes"] = {
        SCHEME: {"type": "http", "scheme": "bearer", "description": _ABOUT.format(scopes=scopes)}
    }


def tell_of_scope(described: Json) -> None:
    """Write into an operation what its security requirement means."""
    for needed in described.get("security", ()):
        (scope,) = needed[SCHEME]
        said = described.get("description")
        needs = f"Needs a key with the scope `{scope}`."
        described["description"] = f"{said}\n\n{needs}" if said else needs
        for kind in (KEY_REFUSED, SCOPE_MISSING):
            also_refuses(described["responses"], kind, _CHALLENGE)
