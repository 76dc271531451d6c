"""A process of the service under gunicorn, which starts several and replaces those that end."""

from __future__ import annotations

import logging
import os
import signal
import sys
from functools import partial

from flask import Flask

from api.application import create_app
from api.packs.background import Repeating
from api.running.beside import beside
from api.running.environment import settings_from
from api.snapshot import in_use
from rules.engines.limits import EngineLimit
from rules.loading import PackRefused
from storage.faults import StoreUnavailable

LOOK_EVERY_S = 1.0
NOT_STARTED = 3
"""The exit code by which gunicorn knows that starting another process is of no use."""

_log = logging.getLogger("stagewright")


def application() -> Flask:
    """The application of this process, with what it does beside answering begun.

    Raises SettingsRefused; ends the process where the pack or the database cannot be used.
    """
    try:
        app = create_app(settings_from(os.environ))
    except (PackRefused, EngineLimit, StoreUnavailable) as error:
        _log.error("the service is not started: %s", error)
        sys.exit(NOT_STARTED)
    for work in beside(app):
        work.start()
    Repeating("looking after the engine", LOOK_EVERY_S, partial(leave_if_worn_out, app)).start()
    return app


def leave_if_worn_out(app: Flask) -> None:
    """End this process where its engine can't go on; requests under way end first.

    An engine that ran out of memory leaves behind what only the end of its process gives back.
    """
    reason = in_use(app).decider.engine.worn_out
    if reason is not None:
        _log.error("this process ends, and another takes its place: %s", reason)
        os.kill(os.getpid(), signal.SIGTERM)
