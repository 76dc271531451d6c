"""How gunicorn runs the service: `gunicorn --config python:api.running.gunicorn_config`.

It reads the same variables of the environment as `stagewright serve`. What is set here can be set otherwise
on gunicorn's command line.
"""

from __future__ import annotations

import logging
import os
import sys
from typing import Any

from api.running import metrics_folder
from api.running.environment import SettingsRefused, settings_from
from api.running.http_server import ENDING_WITHIN_S
from api.settings import Settings
from storage.faults import StoreUnavailable
from storage.store import open_store

_log = logging.getLogger("stagewright")


def _settings() -> Settings:
    try:
        return settings_from(os.environ)
    except SettingsRefused as refused:
        sys.exit(str(refused))


_read = _settings()

wsgi_app = "api.running.workers:application()"
bind = f"[{_read.host}]:{_read.port}" if ":" in _read.host else f"{_read.host}:{_read.port}"
workers = _read.workers
worker_class = "api.running.gunicorn_worker.BufferingWorker"
threads = _read.threads
# Threads beside the requests would not outlive a fork.
preload_app = False
# What a library may leave behind in memory ends with its process; the jitter keeps them from ending together.
max_requests = 10_000
max_requests_jitter = 2_000
graceful_timeout = int(ENDING_WITHIN_S)
# It would write into the home folder, and nobody asks it anything.
control_socket_disable = True
logconfig_dict: dict[str, Any] = {
    "formatters": {"line": {"()": "api.running.logs.formatter", "log_format": _read.log_format}},
    "handlers": {"errors": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"level": "INFO", "handlers": ["errors"]},
    "loggers": {"gunicorn.error": {"level": "INFO", "handlers": [], "propagate": True}},
}


def on_starting(_arbiter: object) -> None:
    """Before the first process: bring the database to its present shape, so that they need not take turns."""
    metrics_folder.share()
    try:
        store = open_store(_read.database_url)
        if not _read.without_keys and not store.keys.all():
            _log.warning("no key was made yet; make one with: stagewright keys create --help")
        store.close()
    except StoreUnavailable as error:
        sys.exit(str(error))


def child_exit(_arbiter: object, worker: Any) -> None:
    """After a process has ended."""
    metrics_folder.note_end(worker.pid)


def on_exit(_arbiter: object) -> None:
    """After the last one."""
    metrics_folder.clear()
