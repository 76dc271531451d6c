"""Answers about the service itself."""

from __future__ import annotations

from marshmallow import fields

from schemas.answers import Answer, PackNamed, many, one, table, text
from schemas.fields import about


class Service(Answer):
    service = text("The name of the service.")
    links = table(text("A reference.", format="uri-reference"), "Where to go on.")


class Alive(Answer):
    status = text("Always `alive`.", enum=["alive"])


class Ready(Answer):
    status = text("Always `ready`.", enum=["ready"])
    engine = text("What evaluates the rules.")
    pack = one(PackNamed, "The active rule pack.")
    database = text("Always `ready`.", enum=["ready"])


class Target(Answer):
    href = text("A reference.", format="uri-reference")
    type = text("The media type of what is there.", optional=True)


class LinkContext(Answer):
    anchor = text("What the links belong to.", format="uri-reference")
    item = many(Target, "The API.", optional=True)
    service_desc = fields.List(
        fields.Nested(Target),
        data_key="service-desc",
        metadata=about("Its description for machines.", optional=True),
    )
    service_doc = fields.List(
        fields.Nested(Target),
        data_key="service-doc",
        metadata=about("Its description for people.", optional=True),
    )
    status = many(Target, "Whether it is ready.", optional=True)


class ApiCatalog(Answer):
    linkset = many(LinkContext, "Sets of links (RFC 9264).")
