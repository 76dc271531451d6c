"""The problem document (RFC 9457) that every refusal and failure is answered with."""

from __future__ import annotations

from marshmallow import fields

from schemas.answers import Answer, PackNamed, many, one, text, texts, whole
from schemas.fields import about


class ErrorAt(Answer):
    detail = text("What is wrong there.")
    pointer = text("Its place in the body, as a JSON pointer (RFC 6901).", optional=True)
    parameter = text("The query parameter.", optional=True)
    code = text("The kind of finding in a rule pack.", optional=True)
    file = text("The file of the rule pack.", optional=True)
    line = whole("The line in it, from 1.", optional=True)
    column = whole("The column in it, from 1.", optional=True)
    value = fields.Raw(metadata=about("The value that was read.", optional=True))
    accepted = fields.List(
        fields.Raw(),
        metadata=about("What may stand there instead, where that is a list.", optional=True),
    )


class ProblemAnswer(Answer):
    type = text("Which kind of problem; the reference leads to a page about it.", format="uri-reference")
    title = text("The kind of problem in a few words.")
    status = whole("The HTTP status.")
    detail = text("What happened this time.")
    instance = text("Names this occurrence in the log of the service.", format="uri", optional=True)
    errors = many(ErrorAt, "Every fault that was found, place by place.", optional=True)
    index = whole("In a batch: which line item, from 0.", optional=True)
    pack = one(PackNamed, "The rule pack concerned.", optional=True)
    rules = texts("The rules concerned.", optional=True)
