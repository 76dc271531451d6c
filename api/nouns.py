"""The base of every blueprint of the API: strict requests, documented answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint
from marshmallow import RAISE, Schema

from api.answers import JSON
from api.idempotency.describing import PARAMETER, REPEATABLE
from api.keys.description import requirement
from api.keys.scopes import OPEN, needing
from api.problem_types import ProblemType
from api.problems import MEDIA_TYPE as PROBLEM
from api.requests import BODY_LIMIT, TAKES_QUERY, StrictParser
from schemas.problem import ProblemAnswer

View = Callable[..., ResponseReturnValue]
Decorator = Callable[[View], View]


def header(name: str, says: str) -> dict[str, Any]:
    """The description of a response header."""
    return {name: {"description": says, "schema": {"type": "string"}}}


ETAG = header("ETag", "Names this very content; for `If-None-Match`.")


class Noun(Blueprint):  # type: ignore[misc]
    """A blueprint for one noun. Its views return finished responses; schemas describe them."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(self, name: str, import_name: str, *, scope: str, **options: Any) -> None:
        """`scope` is what a key must be for, or OPEN; `options` as for `Blueprint`."""
        super().__init__(name, import_name, **options)
        self._scope = scope

    def at(self, rule: str, method: str = "GET", scope: str | None = None, **options: Any) -> Decorator:
        """Serve a view at a path; its name becomes the `operationId`. `options` as for `Blueprint.route`.

        `scope` where this view needs another one than its noun. `parameters` among the options are those
        of the path: they hold for every method.
        """
        needed = scope or self._scope
        security = {} if needed == OPEN else {"security": requirement(needed)}

        def decorator(view: View) -> View:
            named: View = self.doc(operationId=view.__name__, **security)(needing(needed)(view))
            served: View = self.route(rule, methods=[method], **options)(named)
            return served

        return decorator

    def takes(self, schema: type[Schema], examples: Mapping[str, Any]) -> Decorator:
        """Pass the loaded JSON body to the view."""
        decorator: Decorator = self.arguments(schema, examples=dict(examples))
        return decorator

    def bounded(self, limit: str) -> Decorator:
        """Take bodies up to another size than others, one that the configuration has under this name."""

        def decorator(view: View) -> View:
            setattr(view, BODY_LIMIT, limit)
            return view

        return decorator

    def repeatable(self, view: View) -> View:
        """Take an `Idempotency-Key`: the same request again is answered as the first time."""
        described = self.needs(PARAMETER)(view)
        setattr(described, REPEATABLE, True)
        return described

    def needs(self, parameter: Mapping[str, Any]) -> Decorator:
        """Describe a parameter, an OpenAPI one, that this view reads itself, beside all others."""

        def decorator(view: View) -> View:
            described: View = self.doc()(view)
            # Not by `doc`, whose list of parameters takes the place of those of `asks`.
            documented: dict[str, Any] = described._apidoc  # type: ignore[attr-defined]  # of flask-smorest
            documented.setdefault("arguments", {}).setdefault("parameters", []).append(dict(parameter))
            return described

        return decorator

    def reads(self, body: Mapping[str, Any]) -> Decorator:
        """Describe the body, an OpenAPI request body, of a view that reads it itself."""
        decorator: Decorator = self.doc(requestBody=dict(body))
        return decorator

    def asks(self, schema: type[Schema]) -> Decorator:
        """Pass the loaded query parameters to the view."""
        load: Decorator = self.arguments(schema, location="query", unknown=RAISE)

        def decorator(view: View) -> View:
            loading = load(view)
            setattr(loading, TAKES_QUERY, True)
            return loading

        return decorator

    def gives(self, status: int, schema: type[Schema], says: str, **options: Any) -> Decorator:
        """Describe the answer of a view; `options` as for `Blueprint.response`."""
        options = {"content_type": JSON, **options}
        decorator: Decorator = self.response(status, schema, description=says, **options)
        return decorator

    def gives_nothing(self, says: str) -> Decorator:
        """Describe an answer without a body."""
        decorator: Decorator = self.response(204, description=says)
        return decorator

    def draws(self, media_type: str, says: str) -> Decorator:
        """Describe another form in which a view answers."""
        decorator: Decorator = self.response(
            200, {"type": "string"}, description=says, content_type=media_type
        )
        return decorator

    def refuses(self, *kinds: ProblemType) -> Decorator:
        """Describe the problems a view answers with."""

        def decorator(view: View) -> View:
            for status in sorted({kind.status for kind in kinds}):
                says = "; ".join(kind.title for kind in kinds if kind.status == status)
                view = self.alt_response(
                    status, schema=ProblemAnswer, description=says, content_type=PROBLEM
                )(view)
            return view

        return decorator
