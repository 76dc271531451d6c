"""Looks after the engines of a process. One that ran out of memory leaves behind what only the end of its
process gives back."""

from __future__ import annotations

import logging
from collections.abc import Callable

from flask import Flask, current_app

from api.packs.at_work import active_pack
from api.snapshot import in_use

_log = logging.getLogger("stagewright")


def worn_out(app: Flask = current_app) -> str | None:
    """Why this process can't go on; None while it can."""
    snapshots = [in_use(app), *active_pack(app).shops.loaded()]
    reasons = (snapshot.decider.engine.worn_out for snapshot in snapshots)
    return next((reason for reason in reasons if reason is not None), None)


def leave_if_worn_out(app: Flask, leave: Callable[[], object]) -> None:
    """Let this process end where it can't go on."""
    reason = worn_out(app)
    if reason is not None:
        _log.error("this process ends: %s", reason)
        leave()
