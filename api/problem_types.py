"""Every kind of problem the service answers with: one registry for answers, pages and documentation."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ProblemType:
    """A kind of problem: what it means and how to mend it, for the person who meets it."""

    slug: str
    status: int
    title: str
    meaning: str
    mend: str

    @property
    def uri(self) -> str:
        return f"/problems/{self.slug}"


MALFORMED_JSON = ProblemType(
    "malformed-json",
    400,
    "The body is not JSON that can be read in one way only",
    "The body breaks the grammar of JSON, or holds what readers of JSON disagree about: a member twice in "
    "one object, NaN, half of a surrogate pair, the character NUL, a number with very many digits, or very "
    "deep nesting.",
    "Let a JSON library write the body, in UTF-8. `detail` names the place.",
)
REQUEST_REFUSED = ProblemType(
    "request-refused",
    400,
    "The request cannot be served",
    "The HTTP request itself is wrong in a way that no other kind of problem describes.",
    "See `status` and `detail`.",
)
NOT_FOUND = ProblemType(
    "not-found",
    404,
    "There is nothing at this address",
    "No resource has this path.",
    "Compare the path with the OpenAPI document at /openapi.json; paths end without a slash.",
)
PROCEDURE_UNKNOWN = ProblemType(
    "procedure-unknown",
    404,
    "No procedure has this id",
    "The service never issued a procedure with this id, or its database is another one.",
    "Take the id from the answer to POST /v1/procedures, or find procedures with ?line_item=REFERENCE.",
)
METHOD_NOT_ALLOWED = ProblemType(
    "method-not-allowed",
    405,
    "The method is not allowed here",
    "The resource exists, but not for this method.",
    "Use one of the methods in the `Allow` header.",
)
NOT_ACCEPTABLE = ProblemType(
    "not-acceptable",
    406,
    "None of the accepted media types can be sent",
    "The `Accept` header leaves out every form in which this resource exists.",
    "Accept one of the media types in `errors`.",
)
BODY_TOO_LARGE = ProblemType(
    "body-too-large",
    413,
    "The body is too large",
    "The body is larger than the service reads.",
    "Send one line item in a request, without anything else.",
)
MEDIA_TYPE_UNSUPPORTED = ProblemType(
    "media-type-unsupported",
    415,
    "The body is not sent as JSON",
    "The `Content-Type` header is missing or names something else than JSON.",
    "Send `Content-Type: application/json`.",
)
LINE_ITEM_REFUSED = ProblemType(
    "line-item-refused",
    422,
    "The line item does not have the form that is expected",
    "A member is missing, is not known, or has a value of the wrong type or length. No value is converted: "
    '"2" is not 2, and 1 is not true.',
    "`errors` names every place with the value read and what is accepted. Leave out, or give as null, what "
    "is not known.",
)
FACTS_REFUSED = ProblemType(
    "facts-refused",
    422,
    "The facts do not allow a decision",
    "A fact that has no safe default is missing; a member, feature or value is none of those the rule pack "
    "knows; a number is out of range; or a fact is given that cannot apply beside the others.",
    "`errors` names every fact by its place, with the value read and what is accepted. GET /v1/vocabulary "
    "lists all of them with their meaning.",
)
MATERIAL_UNKNOWN = ProblemType(
    "material-unknown",
    422,
    "The material is not known",
    "`/part/material` is neither a symbol, nor a marking, nor a word of the trade that the rule pack knows. "
    "The service does not guess: a wrong material leads to a repair that does not hold.",
    "Compare with GET /v1/substrates. Read the marking moulded into the back of the part, or send `unknown`: "
    "the procedure is then made for a material nobody could tell.",
)
QUERY_REFUSED = ProblemType(
    "query-refused",
    422,
    "A query parameter is refused",
    "A query parameter is missing, is not known here, is given twice, or has a value that cannot be used.",
    "`errors` names the parameter.",
)
INTERNAL_ERROR = ProblemType(
    "internal-error",
    500,
    "The service failed",
    "A fault of the service itself, not of the request.",
    "Try again once. If it stays, give `instance` to whoever runs the service: it names the log entry.",
)
PACK_FAULT = ProblemType(
    "pack-fault",
    500,
    "The rule pack gives no single answer for these facts",
    "Rules of the active pack contradict each other, or leave a gap, for the facts of this line item. The "
    "request is right; no procedure is issued rather than a doubtful one.",
    "Whoever keeps the rules mends those named in `rules`: `stagewright rules check` and `stagewright rules "
    "explain` show them. Until then, work from the vehicle maker's procedure.",
)
STORE_UNAVAILABLE = ProblemType(
    "store-unavailable",
    503,
    "The database does not answer",
    "Procedures are only issued when they can be kept.",
    "Try again after the time in `Retry-After`. If it stays, whoever runs the service finds the reason in "
    "the log.",
)

PROBLEM_TYPES = (
    MALFORMED_JSON,
    REQUEST_REFUSED,
    NOT_FOUND,
    PROCEDURE_UNKNOWN,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    LINE_ITEM_REFUSED,
    FACTS_REFUSED,
    MATERIAL_UNKNOWN,
    QUERY_REFUSED,
    INTERNAL_ERROR,
    PACK_FAULT,
    STORE_UNAVAILABLE,
)
