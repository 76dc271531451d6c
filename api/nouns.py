"""The base of every blueprint of the API: strict requests, documented answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint
from marshmallow import RAISE, Schema

from api.answers import JSON
from api.problem_types import ProblemType
from api.problems import MEDIA_TYPE as PROBLEM
from api.requests import TAKES_QUERY, StrictParser
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

    def at(self, rule: str, method: str = "GET", **options: Any) -> Decorator:
        """Serve a view at a path; its name becomes the `operationId`. `options` as for `Blueprint.route`."""

        def decorator(view: View) -> View:
            named: View = self.doc(operationId=view.__name__)(view)
            served: View = self.route(rule, methods=[method], **options)(named)
            return served

        return decorator

    def takes(self, schema: type[Schema], examples: Mapping[str, Any]) -> Decorator:
        """Pass the loaded JSON body to the view."""
        decorator: Decorator = self.arguments(schema, examples=dict(examples))
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
        decorator: Decorator = self.response(status, schema, description=says, content_type=JSON, **options)
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
