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
IDEMPOTENCY_KEY_REFUSED = ProblemType(
    "idempotency-key-refused",
    400,
    "The idempotency key cannot be used",
    "`Idempotency-Key`, or `idempotency_key` in a line item of a batch, is empty, too long, sent twice, or "
    "holds something else than printable ASCII.",
    'Send one key of 1 to 255 characters in quotes, a UUID say: `Idempotency-Key: "8e03978e-…"`.',
)
REQUEST_REFUSED = ProblemType(
    "request-refused",
    400,
    "The request cannot be served",
    "The HTTP request itself is wrong in a way that no other kind of problem describes.",
    "See `status` and `detail`.",
)
KEY_REFUSED = ProblemType(
    "key-refused",
    401,
    "A key is needed",
    "The `Authorization` header is missing, or what it holds is no key that holds now: it may be unknown, "
    "expired or revoked. Which one it is, only the log of the service tells.",
    "Send `Authorization: Bearer sw_…` with a key of your shop. Whoever runs the service gives them out: "
    "`stagewright keys create`.",
)
SCOPE_MISSING = ProblemType(
    "scope-missing",
    403,
    "The key is not for this",
    "Every key is for one or more scopes: `line-items`, `rules`, `admin`. This call needs one that the key "
    "does not have.",
    "Use a key with the scope that `detail` names; the OpenAPI document names it for every call.",
)
SERVICE_ONLY = ProblemType(
    "service-only",
    403,
    "This is for the shop that runs the service",
    "The figures of `/metrics` count all shops together, and a pack of the service is for all shops. Only "
    "keys of the shop `local`, which runs the service, read the figures and prove such a pack; others read "
    "it.",
    "Ask whoever runs the service. Rules of your own shop go into an overlay, which is yours.",
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
    "Neither your shop keeps a rule pack with this digest, nor is it one that the service has put in force.",
    "Take the digest from GET /v1/packs, or from the answer to POST /v1/packs.",
)
PROOF_UNKNOWN = ProblemType(
    "proof-unknown",
    404,
    "The rule pack was not proven yet",
    "Nobody has asked for a proof of this pack.",
    "Send POST to the same address; it runs the proof and answers with what it finds.",
)
STAGE_UNKNOWN = ProblemType(
    "stage-unknown",
    404,
    "No stage has this name",
    "The stage catalogue of the active rule pack has no stage of this name.",
    "Take the name from GET /v1/stages.",
)
LINK_REFUSED = ProblemType(
    "link-refused",
    404,
    "This link opens nothing",
    "The address is not one that the service gave out, or the shop has ended its links since, or what it "
    "opened is no longer kept. Which one it is, is not told.",
    "Copy the whole address once more. If it stays, ask the shop for a new link.",
)
WEBHOOK_UNKNOWN = ProblemType(
    "webhook-unknown",
    404,
    "No webhook has this id",
    "The shop has no webhook with this id, or has removed it.",
    "Take the id from GET /v1/webhooks.",
)
DELIVERY_UNKNOWN = ProblemType(
    "delivery-unknown",
    404,
    "The webhook has no such delivery",
    "The webhook was never told of an event with this id, or it is so long ago that the log has lost it.",
    "Take the id from GET /v1/webhooks/{webhook_id}/deliveries.",
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
IDEMPOTENCY_KEY_RUNNING = ProblemType(
    "idempotency-key-running",
    409,
    "The first request with this key is at work",
    "A request with the same `Idempotency-Key` has begun and has no answer yet. Nothing is done twice.",
    "Send the same request with the same key again after the time in `Retry-After`. Where the service died "
    "over the first one, the key is free again after two minutes.",
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
TOO_MANY_WEBHOOKS = ProblemType(
    "too-many-webhooks",
    409,
    "The shop has as many webhooks as it may",
    "How many a shop may have is bounded; `detail` tells the number.",
    "Remove one that is not needed. One address can be told of several events by one webhook.",
)
WEBHOOK_PAUSED = ProblemType(
    "webhook-paused",
    409,
    "The webhook is paused",
    "Nothing is sent to it: somebody asked for that, or the receiver has answered 410; `paused_because` of "
    "the webhook tells which.",
    "Let it go on by PUT /v1/webhooks/{webhook_id} with `paused` false, then ask again.",
)
PACK_IN_USE = ProblemType(
    "pack-in-use",
    409,
    "The rule pack is or was in force",
    "Your shop has put this pack in force, or has decided to. Procedures cite it, so it stays.",
    "Delete those packs that were only tried out.",
)
TOO_MANY_PACKS = ProblemType(
    "too-many-packs",
    409,
    "Your shop keeps as many rule packs as it may",
    "How many packs a shop keeps is bounded, so that none fills the database of all; `detail` tells the "
    "number.",
    "Delete packs that were only tried out: DELETE /v1/packs/{digest}. Where all of them were in force, ask "
    "whoever runs the service.",
)
PRECONDITION_FAILED = ProblemType(
    "precondition-failed",
    412,
    "What the request builds on has changed meanwhile",
    "`If-Match` names an earlier state: somebody else has decided in between, a pack has come into force, "
    "or the receiver of a webhook has answered 410.",
    "Read it again at the call that `detail` names (what is in force: GET /v1/packs/active), look at what "
    "has changed, and repeat with its `ETag`.",
)
LINK_EXPIRED = ProblemType(
    "link-expired",
    410,
    "This link has expired",
    "A link opens what it was given for until the time in `detail`.",
    "Ask the shop for a new link.",
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
HOST_REFUSED = ProblemType(
    "host-refused",
    421,
    "The service is open to its own machine alone",
    "It was started without keys, so it answers only to names that can mean nothing but the machine it runs "
    "on. A page of somebody else must not reach it through a browser on that machine.",
    "Call it as http://127.0.0.1 or http://localhost, or start it without `--open` and use a key.",
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
IDEMPOTENCY_KEY_REUSED = ProblemType(
    "idempotency-key-reused",
    422,
    "The idempotency key belongs to another request",
    "Within the last 24 hours the same `Idempotency-Key` came with another body, another address or another "
    "query. Which of the two is meant, the service does not guess; nothing was done.",
    "Make a new key for every new request, also for one that was mended after a refusal, and keep it for "
    "repetitions of that one.",
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
CALENDAR_TOO_NARROW = ProblemType(
    "calendar-too-narrow",
    422,
    "The work does not fit into the opening hours",
    "A stage takes longer than the shop is ever open at once, or a window between two stages cannot be kept "
    "by what lies open within 60 days. A time that the shop cannot keep is not promised.",
    "`detail` names the stage, or the window, and how long the door is open. Mend `/calendar`, or leave it "
    "out to have times without opening hours.",
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
    "Which rules are in force, and where a webhook sends to, is not changed by somebody who has not seen how "
    "it is now: `If-Match` is missing.",
    "Read it at the call that `detail` names, and send its `ETag` as `If-Match`.",
)
RATE_LIMITED = ProblemType(
    "rate-limited",
    429,
    "Too many requests",
    "Your shop has used up what it may ask for in this stretch of time; `RateLimit-Policy` tells how much "
    "that is. A batch counts its line items.",
    "Wait for the time in `Retry-After`, then go on; `RateLimit` tells what is left. Send the same "
    "`Idempotency-Key` again.",
)
KEYS_REFUSED = ProblemType(
    "keys-refused",
    429,
    "Too many requests without a key that holds",
    "From this address more requests came without a key that holds, within a minute, than the service "
    "answers one by one. A key that holds is served nevertheless.",
    "Stop sending what is refused: ask whoever runs the service for a key that holds. Otherwise wait for the "
    "time in `Retry-After`.",
)
PROOF_RUNNING = ProblemType(
    "proof-running",
    429,
    "Another proof is running",
    "A proof takes a processor for some seconds, so a shop has one run at a time, and all together a few.",
    "Try again after the time in `Retry-After`.",
)
PACK_WORK_RUNNING = ProblemType(
    "pack-work-running",
    429,
    "Your shop has other work on rule packs under way",
    "To read a pack in, to compare it and to put it in force takes a processor for a while, so a shop does "
    "one of these at a time.",
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
PACK_UNUSABLE = ProblemType(
    "pack-unusable",
    500,
    "The rule pack of your shop cannot be used any more",
    "Your shop has put a pack of its own in force that this version of the service cannot read. Nothing is "
    "issued rather than something without your shop's own rules.",
    "Lay the overlay on the pack of the service anew (POST /v1/packs/{digest}/renewal), mend what that "
    "finds, prove it and put it in force; or work by the pack of the service: PUT /v1/packs/active with "
    "`digest` null.",
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
    "Procedures are only issued when they can be kept. Where the database went away midway, the service "
    "cannot tell whether it had kept what was asked for.",
    "Send the same again after the time in `Retry-After`, with the same `Idempotency-Key`: nothing is done "
    "twice. If it stays, whoever runs the service finds the reason in the log.",
)
ENGINE_WORN_OUT = ProblemType(
    "engine-worn-out",
    503,
    "The process that answered decides no more",
    "Its rule engine ran out of memory, and what that leaves behind only goes with the process. It ends, and "
    "another one takes its place. What was issued is kept.",
    "Send the same again after the time in `Retry-After`, with the same `Idempotency-Key`. If it stays, "
    "whoever runs the service gives it more memory; the log tells.",
)
STORE_NOT_WRITABLE = ProblemType(
    "store-not-writable",
    507,
    "The database takes no changes",
    "It answers, but its disk is full, or it is read only. What was issued can be read; nothing new is "
    "issued, as it could not be kept.",
    "Whoever runs the service finds the place in the log, and makes room or gives it back its right to "
    "write; the service goes on by itself then. Send the same again with the same `Idempotency-Key`.",
)

PROBLEM_TYPES = (
    MALFORMED_JSON,
    IDEMPOTENCY_KEY_REFUSED,
    REQUEST_REFUSED,
    KEY_REFUSED,
    SCOPE_MISSING,
    SERVICE_ONLY,
    NOT_FOUND,
    PROCEDURE_UNKNOWN,
    PACK_UNKNOWN,
    PROOF_UNKNOWN,
    STAGE_UNKNOWN,
    LINK_REFUSED,
    WEBHOOK_UNKNOWN,
    DELIVERY_UNKNOWN,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    IDEMPOTENCY_KEY_RUNNING,
    PACK_NOT_PROVEN,
    PACK_OUT_OF_DATE,
    NOTHING_TO_GO_BACK_TO,
    TOO_MANY_WEBHOOKS,
    WEBHOOK_PAUSED,
    PACK_IN_USE,
    TOO_MANY_PACKS,
    PRECONDITION_FAILED,
    LINK_EXPIRED,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    HOST_REFUSED,
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    IDEMPOTENCY_KEY_REUSED,
    PACK_REFUSED,
    LINE_ITEM_REFUSED,
    FACTS_REFUSED,
    CALENDAR_TOO_NARROW,
    MATERIAL_UNKNOWN,
    EVIDENCE_REFUSED,
    QUERY_REFUSED,
    PRECONDITION_REQUIRED,
    RATE_LIMITED,
    KEYS_REFUSED,
    PROOF_RUNNING,
    PACK_WORK_RUNNING,
    INTERNAL_ERROR,
    PACK_FAULT,
    PACK_UNUSABLE,
    IDENTIFICATION_UNAVAILABLE,
    STORE_UNAVAILABLE,
    ENGINE_WORN_OUT,
    STORE_NOT_WRITABLE,
)
