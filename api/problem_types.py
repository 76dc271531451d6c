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
PACK_UNKNOWN = ProblemType(
    "pack-unknown",
    404,
    "No rule pack has this digest",
    "The service does not keep a rule pack with this digest, or its database is another one.",
    "Take the digest from GET /v1/packs, or from the answer to POST /v1/packs.",
)
PROOF_UNKNOWN = ProblemType(
    "proof-unknown",
    404,
    "The rule pack was not proven yet",
    "Nobody has asked for a proof of this pack.",
    "Send POST to the same address; it runs the proof and answers with what it finds.",
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
PACK_NOT_PROVEN = ProblemType(
    "pack-not-proven",
    409,
    "The rule pack is not proven",
    "Only a pack that was proven over every combination of facts is put in force. This one was not proven "
    "yet, or its proof found something. The pack in force stays.",
    "POST /v1/packs/{digest}/proof tells what is wrong, with a line item that shows each fault. Mend the "
    "files, and upload them again.",
)
PACK_OUT_OF_DATE = ProblemType(
    "pack-out-of-date",
    409,
    "The rule pack does not hold at that time",
    "`effective_from` and `effective_until` in its pack.yaml leave out the time at which it is to be in "
    "force. The pack in force stays.",
    "Choose another time, or mend the dates and upload the pack again.",
)
NOTHING_TO_GO_BACK_TO = ProblemType(
    "nothing-to-go-back-to",
    409,
    "No other rule pack was in force before",
    "The pack in force is the first one; there is none to go back to.",
    "Activate another pack by PUT /v1/packs/active.",
)
PRECONDITION_FAILED = ProblemType(
    "precondition-failed",
    412,
    "What is in force has changed meanwhile",
    "`If-Match` names an earlier state: somebody else has decided in between, or a pack has come into force.",
    "Read GET /v1/packs/active again, look at what has changed, and repeat with its `ETag`.",
)
BODY_TOO_LARGE = ProblemType(
    "body-too-large",
    413,
    "The body is too large",
    "The body is larger than the service reads.",
    "Send one line item in a request, without anything else; of a rule pack, only its own files.",
)
MEDIA_TYPE_UNSUPPORTED = ProblemType(
    "media-type-unsupported",
    415,
    "The body is sent in a form that is not read here",
    "The `Content-Type` header is missing or names something else than what this call reads.",
    "Send `Content-Type: application/json`; for the files of a rule pack also `application/zip`.",
)
ARCHIVE_REFUSED = ProblemType(
    "archive-refused",
    422,
    "The archive is not read",
    "The zip archive is damaged, encrypted, too large or has too many entries, or an entry is no plain file "
    "in a plain place.",
    "Pack the folder of the rule pack anew with an ordinary zip program. `detail` names the entry.",
)
BODY_REFUSED = ProblemType(
    "body-refused",
    422,
    "The body does not have the form that is expected",
    "A member is missing, is not known, or has a value that cannot be used. No value is converted.",
    "`errors` names every place with the value read and what is accepted.",
)
PACK_REFUSED = ProblemType(
    "pack-refused",
    422,
    "The rule pack cannot be loaded",
    "Something in its files cannot be read or contradicts the vocabulary. Nothing was kept.",
    "`errors` names file, line and column of every finding, with its code, and proposes how to mend it. "
    "`stagewright rules check` tells the same before an upload.",
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
EVIDENCE_REFUSED = ProblemType(
    "evidence-refused",
    422,
    "A marking, test or result cannot be used",
    "The marking breaks the grammar of markings or names no material of the substrate table; a bench test is "
    "not one of the rule pack, or is never to be done; or a result is none that the test can have.",
    "`errors` names every place, with what is accepted; of a marking `detail` counts the position from 1. "
    "Leave out what cannot be read: a wrong marking misleads more than none.",
)
QUERY_REFUSED = ProblemType(
    "query-refused",
    422,
    "A query parameter is refused",
    "A query parameter is missing, is not known here, is given twice, or has a value that cannot be used.",
    "`errors` names the parameter.",
)
PRECONDITION_REQUIRED = ProblemType(
    "precondition-required",
    428,
    "The request must say what it builds on",
    "Which rules are in force is not changed by somebody who has not seen what is in force now: `If-Match` "
    "is missing.",
    "Read GET /v1/packs/active and send its `ETag` as `If-Match`.",
)
PROOF_RUNNING = ProblemType(
    "proof-running",
    429,
    "Another proof is running",
    "A proof takes a processor for some seconds, so the service runs one at a time.",
    "Try again after the time in `Retry-After`.",
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
IDENTIFICATION_UNAVAILABLE = ProblemType(
    "identification-unavailable",
    501,
    "The active rule pack cannot identify materials",
    "The rule pack has no `identification.yaml`: it knows no bench tests.",
    "Whoever keeps the rules adds the tests, or activates a pack that has them. Until then read the marking, "
    "or send `unknown` as the material of the line item.",
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
    PACK_UNKNOWN,
    PROOF_UNKNOWN,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    NOTHING_TO_GO_BACK_TO,
    PRECONDITION_FAILED,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    PACK_REFUSED,
    LINE_ITEM_REFUSED,
    FACTS_REFUSED,
    MATERIAL_UNKNOWN,
    EVIDENCE_REFUSED,
    QUERY_REFUSED,
    PRECONDITION_REQUIRED,
    PROOF_RUNNING,
    INTERNAL_ERROR,
    PACK_FAULT,
    IDENTIFICATION_UNAVAILABLE,
    STORE_UNAVAILABLE,
)
