"""What a client sends: every request with its own idempotency key, and its key to the service alone."""

from __future__ import annotations

from api.conformance.faults import lost, problem, redirect
from api.conformance.kit import Kit, line_item_of, posts
from api.conformance.model import Check
from api.conformance.script import ELSEWHERE, Scene
from api.problem_types import LINE_ITEM_REFUSED, SCOPE_MISSING

LOST_ANSWER = Check(
    "lost-answer-sent-again",
    "what got no answer is sent again",
    "A connection can break off after the service has done the work. Whoever gives up then has a procedure "
    "that it knows nothing of, or a report that it takes for missing.",
    "Take a broken connection for `not known`, and send the same request again, with the same key.",
)
KEY_KEPT = Check(
    "key-kept",
    "what is sent again is the same, with the same `Idempotency-Key`",
    "By the key alone the service sees that it is asked for the same thing, so that it does nothing twice.",
    "Make the key when the request is made, not when it is sent, and keep both until there is an answer.",
)
KEY_NEW = Check(
    "key-new",
    "every new request has a new `Idempotency-Key`",
    "With a key that was used before, the service refuses another request, or gives an earlier answer again.",
    "Make a UUID for every new request, also for one that was mended after a refusal.",
)
CREDENTIALS_SENT = Check(
    "credentials-sent",
    "every request carries `Authorization: Bearer` and the key of the shop",
    "Without it every request is refused.",
    "Set the header in the one place where all requests are made.",
)
CREDENTIALS_KEPT = Check(
    "credentials-kept",
    "a redirect to another address gets no key",
    "Whoever can make the client go elsewhere would have the key of the shop, and all that it is for.",
    "Follow redirects within the scheme, host and port of the service alone, or leave the key out elsewhere.",
)
REDIRECT_FOLLOWED = Check(
    "redirect-followed",
    "308 is followed to the `Location`, with method, body and keys as they were",
    "A service that moves behind another path says so this way. Clients that turn the request into a GET, "
    "or take it for a failure, stop to work that day.",
    "Let your HTTP library follow 307 and 308 within the service, or send it to `Location` yourself.",
)
REFUSAL_FINAL = Check(
    "refusal-final",
    "what was refused (400 to 422) is not sent again as it was",
    "It is refused again, each time, and uses up the quota of the shop that others of its programs need.",
    "Send again after 409, 429 and from 500 on, and after no other status.",
)

CHECKS = (
    LOST_ANSWER,
    KEY_KEPT,
    KEY_NEW,
    CREDENTIALS_SENT,
    CREDENTIALS_KEPT,
    REDIRECT_FOLLOWED,
    REFUSAL_FINAL,
)


def play_sending(kit: Kit) -> None:
    """All of them but those about every request, which are judged at the end."""
    _lose_answers(kit)
    _mend_after_refusal(kit)
    _refuse(kit)
    _lead_away(kit)


def judge_every_request(kit: Kit) -> None:
    """What holds for all that the client has sent until now."""
    sent = kit.played.stage.seen
    bare = [each for each in sent if each.headers.get("Authorization") != f"Bearer {kit.played.key}"]
    told = "".join(f"; {each.method} {each.path}" for each in bare[:3])
    kit.judge.hold(CREDENTIALS_SENT, not bare, f"{len(bare)} of {len(sent)} requests came without{told}")


def _lose_answers(kit: Kit) -> None:
    scene, done = kit.create(lost)
    _judge_sent_again(kit, scene, f"sent once; then {done.in_words()}")
    issued = [each.answer for each in posts(scene) if each.issued]
    if issued and done.procedure_ids:
        report = {"actuals": [{"stage": issued[0]["stages"][0]["stage"], "work_min": 12.5}]}
        with kit.scene(issued[0]["id"], lost) as scene:
            reported = kit.driver.report(issued[0]["id"], report)
        _judge_sent_again(kit, scene, f"a report was sent once; then {reported.in_words()}")


def _judge_sent_again(kit: Kit, scene: Scene, otherwise: str) -> None:
    kit.judge.hold(LOST_ANSWER, len(posts(scene)) > 1, otherwise)
    judge_keys(kit, scene)


def judge_keys(kit: Kit, scene: Scene) -> None:
    """Whether what came in a scene more than once was the same each time."""
    sent = posts(scene)
    if len(sent) > 1:
        keys = [each.key for each in sent]
        same = len(set(keys)) == 1 and keys[0] is not None and len({each.body for each in sent}) == 1
        kit.judge.hold(KEY_KEPT, same, f"the same request came with the keys {', '.join(map(str, keys))}")


def _mend_after_refusal(kit: Kit) -> None:
    """One line item is refused, then mended; another is something else altogether."""
    reference = kit.reference()
    wrong = line_item_of(reference, damage={"type": "crak", "length_mm": 80})
    keys = []
    for line_item in (wrong, line_item_of(reference), line_item_of(kit.reference())):
        with kit.scene(line_item["line_item"]["reference"]) as scene:
            kit.driver.create(line_item)
        keys += [each.key for each in posts(scene)[:1]]
    fresh = len(set(keys)) == len(keys) and None not in keys
    kit.judge.hold(KEY_NEW, fresh, f"different requests came with the keys {', '.join(map(str, keys))}")


def _refuse(kit: Kit) -> None:
    for kind in (SCOPE_MISSING, LINE_ITEM_REFUSED):
        # Whoever repeats it without end is given what it wants at last, so that the kit goes on.
        scene, _ = kit.create(*[problem(kind)] * 3)
        sent = posts(scene)
        told = f"what was refused with {kind.status} came {len(sent)} times"
        kit.judge.hold(REFUSAL_FINAL, len(sent) < 2, told)


def _lead_away(kit: Kit) -> None:
    scene, done = kit.create(redirect(f"{ELSEWHERE}/v1/procedures"))
    kit.judge.hold(REDIRECT_FOLLOWED, done.done, f"{len(scene.seen)} requests came; then {done.in_words()}")
    kit.create(redirect(f"{kit.played.strange_address}/v1/procedures"))
    leaked = any(kit.played.key in each for each in kit.played.stranger.told)
    kit.judge.hold(CREDENTIALS_KEPT, not leaked, "the key was sent to another port of the same machine")
