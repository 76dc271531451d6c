"""A process of the service under gunicorn, which starts several and replaces those that end."""

from __future__ import annotations

import logging
import os
import signal
import sys

from flask import Flask

from api.application import create_app
from api.running.awaiting import Awaiting
from api.running.beside import beside
from api.running.environment import settings_from
from api.settings import Settings
from rules.engines.limits import EngineLimit
from rules.loading import PackRefused

NOT_STARTED = 3
"""The exit code by which gunicorn knows that starting another process is of no use."""

_log = logging.getLogger("stagewright")


def application() -> Awaiting:
    """The application of this process, with what it does beside answering begun.

    Raises SettingsRefused; ends the process where the pack cannot be used. The database was there when the
    service was started, so it will be again.
    """
    settings = settings_from(os.environ)
    try:
        return Awaiting(lambda: _started(settings))
    except (PackRefused, EngineLimit) as error:
        _log.error("the service is not started: %s", error)
        sys.exit(NOT_STARTED)


def _started(settings: Settings) -> Flask:
    app = create_app(settings)
    for work in beside(app, _leave):
        work.start()
    return app


def _leave() -> None:
    """End this process; requests under way end first."""
    os.kill(os.getpid(), signal.SIGTERM)
