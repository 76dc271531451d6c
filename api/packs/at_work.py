"""What the views on rule packs share: the pack in force of the application, and packs by their digest."""

from __future__ import annotations

import re

from flask import Flask, current_app

from api.keys.checking import caller
from api.packs.activating import ActivePack
from api.problem_types import PACK_UNKNOWN, SERVICE_ONLY
from api.problems import Problem
from api.snapshot import current
from schemas.pack import LONGEST_DIGEST
from storage.audit import Who
from storage.records import KeptPack
from storage.shops import LOCAL

_KEY = "stagewright-packs"


def keep_active(app: Flask, active: ActivePack) -> None:
    """Let the views of `app` work with `active`."""
    app.extensions[_KEY] = active


def active_pack(app: Flask = current_app) -> ActivePack:
    """What is in force in an application, that of the request where none is named."""
    active: ActivePack = app.extensions[_KEY]
    return active


def service_only() -> Who:
    """Who asks. Raises Problem for a shop that does not run the service: packs are for all shops."""
    who = caller()
    if who.shop != LOCAL:
        raise Problem(SERVICE_ONLY, f"rule packs are changed by keys of the shop '{LOCAL}' alone")
    return who


def kept(digest: str) -> KeptPack:
    """A kept pack. Raises Problem where there is none."""
    found = find(digest)
    if found is None:
        raise Problem(PACK_UNKNOWN, f"no rule pack has the digest '{digest[:LONGEST_DIGEST]}'")
    return found


def find(digest: str) -> KeptPack | None:
    """A kept pack, or None; not every text can be looked for in every database."""
    could_be = len(digest) <= LONGEST_DIGEST and re.fullmatch(r"[0-9a-z:]+", digest)
    return current().store.packs.find(digest) if could_be else None
