"""What the conformance kit asks of the driver of a client, and what it is answered."""

from __future__ import annotations

from marshmallow import EXCLUDE, Schema, fields
from marshmallow.validate import OneOf

from schemas.fields import Text, Truth, WholeNumber, about

DONE, REFUSED, GAVE_UP = "done", "refused", "gave_up"

OUTCOMES = {
    DONE: "the service answered as wanted",
    REFUSED: "the service refused it, and sending it again would be of no use",
    GAVE_UP: "the client has tried as long as it does, and got no answer that it could use",
}


class Asked(Schema):
    """What the kit sends. Later versions of the kit may add members."""


class Told(Schema):
    """What a driver answers. It may say more."""

    class Meta:
        unknown = EXCLUDE

    error_messages = {"type": "must be an object"}  # noqa: RUF012


class Settings(Asked):
    service = fields.String(
        required=True,
        metadata=about("Where the service is, such as `http://127.0.0.1:8091`."),
    )
    key = fields.String(required=True, metadata=about("The key to send with every request."))
    webhook_secret = fields.String(
        required=True, metadata=about("What webhooks are signed with: `whsec_` and base64.")
    )
    timeout_s = fields.Float(
        required=True, metadata=about("So many seconds the client waits for an answer, in place of its own.")
    )
    first_wait_s = fields.Float(
        required=True,
        metadata=about(
            "So many seconds, more or less, it waits before it tries a second time where the service names no"
            " time, in place of its own."
        ),
    )
    most_tries = fields.Integer(
        required=True, metadata=about("So often it sends a request at most, in place of its own.")
    )


class Claims(Told):
    caches = Truth(
        required=True,
        metadata=about("Whether the client keeps what it has read, and asks whether it still holds."),
    )


class LineItemToCreate(Asked):
    line_item = fields.Dict(
        required=True, metadata=about("The body of `POST /v1/procedures`, to be sent as it is.")
    )


class ProcedureToRead(Asked):
    procedure_id = fields.String(required=True, metadata=about("The `id` of the procedure."))


class ReferenceToFind(Asked):
    reference = fields.String(required=True, metadata=about("The reference of the line item."))


class ActualsToReport(Asked):
    procedure_id = fields.String(required=True, metadata=about("The procedure that is reported on."))
    actuals = fields.Dict(
        required=True,
        metadata=about("The body of `POST /v1/procedures/{id}/actuals`, to be sent as it is."),
    )


class ProblemRead(Told):
    status = WholeNumber(required=True, metadata=about("The HTTP status."))
    type = Text(required=True, metadata=about("`type` of the problem document, as the service sent it."))
    pointers = fields.List(
        Text(),
        load_default=[],
        metadata=about("The `pointer` of each of its `errors`."),
    )


class Outcome(Told):
    outcome = Text(
        required=True,
        metadata=about(
            "What has become of it." + "".join(f"\n- `{name}`: {says}" for name, says in OUTCOMES.items()),
        ),
        validate=OneOf(list(OUTCOMES), error="must be one of " + ", ".join(OUTCOMES)),
    )
    procedure_ids = fields.List(
        Text(),
        load_default=[],
        metadata=about("The `id` of each procedure that the client has got, in the order it got them."),
    )
    amount = Text(
        load_default=None,
        allow_none=True,
        metadata=about(
            "`cost.total` of the procedure as the client has it, written out; null where there is none.",
            examples=["1240.50"],
        ),
    )
    problem = fields.Nested(
        ProblemRead,
        load_default=None,
        allow_none=True,
        metadata=about("What the service said, where it refused."),
    )


class Handled(Told):
    handled = fields.List(
        Text(),
        required=True,
        metadata=about(
            "The `webhook-id` of every delivery that the client has acted on, in order, as often as it did."
        ),
    )
