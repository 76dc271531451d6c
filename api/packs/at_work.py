"""What the views on rule packs share: what is in force in the application, and the packs that a shop sees."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field

from flask import Flask, current_app

from api.packs.activating import ActivePack
from api.packs.turns import Busy, Turns
from api.problem_types import PACK_UNKNOWN, PACK_WORK_RUNNING, PROOF_RUNNING, ProblemType
from api.problems import Problem
from api.shops import LOCAL, current_shop
from api.snapshot import store_in_use
from schemas.pack import LONGEST_DIGEST
from storage.records import KeptPack

MOST_PROOFS = 2
"""So many proofs of shops run at once in a process: no shop alone keeps all others waiting."""

MOST_AT_WORK = 1000
"""As many shops as like may read packs in or compare them, each one at a time."""

PROOF_RETRY_S = 10
WORK_RETRY_S = 2

_KEY = "stagewright-packs"


@dataclass(frozen=True)
class AtWork:
    """What works on packs in an application: `most_packs` are kept for a shop."""

    active: ActivePack
    most_packs: int
    proofs: Turns = field(default_factory=lambda: Turns(MOST_PROOFS))
    others: Turns = field(default_factory=lambda: Turns(MOST_AT_WORK))


def keep_at_work(app: Flask, work: AtWork) -> None:
    """Let the views of `app` work with these."""
    app.extensions[_KEY] = work


def at_work(app: Flask = current_app) -> AtWork:
    """What works on packs in an application, that of the request where none is named."""
    found: AtWork = app.extensions[_KEY]
    return found


def active_pack(app: Flask = current_app) -> ActivePack:
    """What is in force in an application."""
    return at_work(app).active


@contextmanager
def turn_to_prove() -> Iterator[None]:
    """A proof of the shop that asks may run. Raises Problem where it has to wait for others."""
    with _turn(at_work().proofs, PROOF_RUNNING, PROOF_RETRY_S):
        yield


@contextmanager
def turn_to_work() -> Iterator[None]:
    """The shop that asks may read packs in and compare them, one at a time. Raises Problem.

    The service itself is not held up.
    """
    if current_shop() == LOCAL:
        yield
        return
    with _turn(at_work().others, PACK_WORK_RUNNING, WORK_RETRY_S):
        yield


@contextmanager
def _turn(turns: Turns, kind: ProblemType, retry_s: int) -> Iterator[None]:
    with ExitStack() as held:
        try:
            held.enter_context(turns.of(current_shop()))
        except Busy as busy:
            headers = {"Retry-After": str(retry_s)}
            raise Problem(kind, f"{busy}; try again in {retry_s} s", headers=headers) from busy
        yield


def most_packs() -> int | None:
    """How many packs the shop that asks may keep; None: as many as it likes."""
    return None if current_shop() == LOCAL else at_work().most_packs


def kept(digest: str) -> KeptPack:
    """A pack that the shop that asks sees. Raises Problem where there is none."""
    found = find(digest)
    if found is None:
        raise Problem(PACK_UNKNOWN, f"no rule pack has the digest '{digest[:LONGEST_DIGEST]}'")
    return found


def find(digest: str) -> KeptPack | None:
    """The same, or None; not every text can be looked for in every database."""
    could_be = len(digest) <= LONGEST_DIGEST and re.fullmatch(r"[0-9a-z:]+", digest)
    return store_in_use().packs.find(current_shop(), digest) if could_be else None
