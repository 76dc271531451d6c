"""What a webhook receives: the payload of every event."""

from __future__ import annotations

from marshmallow import Schema

from schemas.answers import Answer, moment, one, text
from schemas.webhooks import TEST


class ProcedureLinks(Answer):
    procedure = text("The procedure, from the root of the service.", format="uri-reference")


class ReportLinks(ProcedureLinks):
    actuals = text("Every report on it.", format="uri-reference")


class IssuedData(Answer):
    line_item = text("The reference of the line item.")
    procedure_id = text("The id of the procedure.")
    links = one(ProcedureLinks, "Where to read it.")


class SupersededData(IssuedData):
    pack_digest = text("The digest of the rule pack that has taken force.")


class ReportedData(Answer):
    line_item = text("The reference of the line item.")
    procedure_id = text("The id of the procedure that was reported on.")
    links = one(ReportLinks, "Where to read it.")


class TriedData(Answer):
    webhook_id = text("The id of the webhook that is tried.")


class Event(Answer):
    type = text("What happened.")
    timestamp = moment("When it happened; at every attempt the same.")


class ProcedureIssuedEvent(Event):
    data = one(IssuedData, "About what.")


class ProcedureSupersededEvent(Event):
    data = one(SupersededData, "About what: the procedure that the line item has, not the one it would get.")


class ActualsReportedEvent(Event):
    data = one(ReportedData, "About what.")


class WebhookTestEvent(Event):
    data = one(TriedData, "About what.")


PAYLOADS: dict[str, type[Schema]] = {
    "procedure.issued": ProcedureIssuedEvent,
    "procedure.superseded": ProcedureSupersededEvent,
    "actuals.reported": ActualsReportedEvent,
    TEST: WebhookTestEvent,
}
"""The form of the body that is sent, by event."""
