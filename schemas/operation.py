"""Answers about the service itself."""

from __future__ import annotations

from schemas.answers import Answer, PackNamed, one, table, text


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
