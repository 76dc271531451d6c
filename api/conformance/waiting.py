"""How a client waits: as long as it is told, else not in step with others, and never without end."""

from __future__ import annotations

from statistics import mean
from time import monotonic

from api.conformance.faults import held, problem
from api.conformance.kit import Kit, posts, waits_s
from api.conformance.model import Check
from api.conformance.scale import (
    EARLY_S,
    FIRST_WAIT_S,
    HELD_S,
    LATE_S,
    MOST_TRIES,
    RETRY_AFTER_S,
    TIMEOUT_S,
)
from api.conformance.sending import judge_keys
from api.problem_types import (
    IDEMPOTENCY_KEY_RUNNING,
    RATE_LIMITED,
    STORE_UNAVAILABLE,
    ProblemType,
)

QUOTA_WAITED_OUT = Check(
    "quota-waited-out",
    "429 is sent again later",
    "The quota of a shop is used up for a while, by whatever program of it. The line item is still good.",
    "Take 429 for `later`: wait for the time in `Retry-After`, and send the same with the same key.",
)
RUNNING_WAITED_OUT = Check(
    "running-waited-out",
    "409 `idempotency-key-running` is sent again later",
    "The first request with the key is still at work. Its answer is there a moment later, under this key.",
    "Wait for the time in `Retry-After`, and send the same request with the same key.",
)
OUTAGE_WAITED_OUT = Check(
    "outage-waited-out",
    "503 is sent again later",
    "The service works again soon, and nothing was lost. Whoever gives up leaves the work to a person.",
    "Send the same again with the same key, after the time in `Retry-After`, or after a wait of your own.",
)
RETRY_AFTER_KEPT = Check(
    "retry-after-kept",
    "the time in `Retry-After` is waited, and not much more",
    "Sooner it is refused again, and counts; much later somebody waits in vain.",
    "Read the seconds from `Retry-After`, and let them go before any wait of your own.",
)
WAITS = Check(
    "waits-between",
    "where no time is named, there is a wait between two tries",
    "A service that is overloaded is kept so by clients that send again at once.",
    "Wait a second or so before the second try, and longer each time.",
)
WAITS_SCATTERED = Check(
    "waits-scattered",
    "these waits differ at random",
    "All clients see an outage at the same moment. Where they wait equally long they are all back at the "
    "same moment, and bring it about again.",
    "Draw each wait anew, from half to one and a half of its length, say; a third up and down at least.",
)
TRIES_END = Check(
    "tries-end",
    "after some tries it is given up and told",
    "Who never gives up never tells anybody that there is no procedure, and piles up requests meanwhile.",
    "Bound how often a request is sent, and show people what was given up.",
)
TIMEOUT_SET = Check(
    "timeout-set",
    "an answer that does not come is not waited for without end",
    "A connection can go silent without breaking off. Without a timeout the program stands still for good.",
    "Set a timeout for every request; then send it again with the same key.",
)

CHECKS = (
    QUOTA_WAITED_OUT,
    RUNNING_WAITED_OUT,
    OUTAGE_WAITED_OUT,
    RETRY_AFTER_KEPT,
    WAITS,
    WAITS_SCATTERED,
    TRIES_END,
    TIMEOUT_SET,
)

_SAMPLES = 8
_ALIKE = 6
"""So many of the samples within `_NARROW` of each other are no chance: 1 in 19,000 where each is from half
to one and a half of its length, 1 in 2,500 where it is a third up and down."""

_NARROW = 0.05
"""A part of their mean."""


def play_waiting(kit: Kit) -> None:
    """All of them."""
    _be_busy(kit, QUOTA_WAITED_OUT, RATE_LIMITED)
    _be_busy(kit, RUNNING_WAITED_OUT, IDEMPOTENCY_KEY_RUNNING)
    _be_busy(kit, OUTAGE_WAITED_OUT, STORE_UNAVAILABLE)
    _name_no_time(kit)
    _never_answer(kit)
    _fail_without_end(kit)


def _be_busy(kit: Kit, check: Check, kind: ProblemType) -> None:
    scene, done = kit.create(problem(kind, RETRY_AFTER_S))
    kit.judge.hold(check, len(posts(scene)) > 1, f"sent once; then {done.in_words()}")
    judge_keys(kit, scene)
    for waited_s in waits_s(scene)[:1]:
        in_time = RETRY_AFTER_S - EARLY_S <= waited_s <= RETRY_AFTER_S + LATE_S
        told = f"`Retry-After` of a {kind.status} said {RETRY_AFTER_S} s, and {waited_s:.2f} s were waited"
        kit.judge.hold(RETRY_AFTER_KEPT, in_time, told)


def _name_no_time(kit: Kit) -> None:
    waited_s = []
    for _ in range(_SAMPLES):
        scene, _done = kit.create(problem(STORE_UNAVAILABLE))
        waited_s += waits_s(scene)[:1]
    if len(waited_s) < _SAMPLES:
        return
    waits = mean(waited_s) > FIRST_WAIT_S / 4
    kit.judge.hold(WAITS, waits, f"{mean(waited_s):.3f} s were waited; {FIRST_WAIT_S} s were agreed on")
    if waits:
        told = f"{_SAMPLES} waits were {', '.join(f'{wait_s:.3f}' for wait_s in waited_s)} s"
        kit.judge.hold(WAITS_SCATTERED, not _alike(waited_s), told)


def _alike(waited_s: list[float]) -> bool:
    """Whether most of them are the same; some may be late for reasons of their machine."""
    inorder, width_s = sorted(waited_s), _NARROW * mean(waited_s)
    return any(last - first < width_s for first, last in zip(inorder, inorder[_ALIKE - 1 :], strict=False))


def _never_answer(kit: Kit) -> None:
    asked_s = monotonic()
    _, done = kit.create(held(HELD_S))
    took_s = monotonic() - asked_s
    told = f"after {took_s:.1f} s it still waited, though {TIMEOUT_S} s were agreed on; {done.in_words()}"
    kit.judge.hold(TIMEOUT_SET, took_s < HELD_S, told)


def _fail_without_end(kit: Kit) -> None:
    scene, done = kit.create(*[problem(STORE_UNAVAILABLE)] * (MOST_TRIES + 2))
    if len(scene.seen) > 1:
        told = f"{len(scene.seen)} tries were made, {MOST_TRIES} were agreed on; {done.in_words()}"
        kit.judge.hold(TRIES_END, len(scene.seen) <= MOST_TRIES and not done.done, told)
