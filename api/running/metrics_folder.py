"""The folder in which the processes of one service add up what they count.

The library looks for it when it is imported, so nothing here imports it before it has to.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

SHARED_FOLDER = "PROMETHEUS_MULTIPROC_DIR"


def share() -> None:
    """Name a folder that is empty: the one of the environment, or a new one."""
    if SHARED_FOLDER not in os.environ:
        os.environ[SHARED_FOLDER] = tempfile.mkdtemp(prefix="stagewright-metrics-")
    folder = Path(os.environ[SHARED_FOLDER])
    folder.mkdir(parents=True, exist_ok=True)
    for left in folder.glob("*.db"):
        left.unlink()


def note_end(pid: int) -> None:
    """A process has ended: what it counted stays, what it showed of itself goes."""
    from prometheus_client.multiprocess import mark_process_dead

    mark_process_dead(pid)  # type: ignore[no-untyped-call]  # the library leaves it so


def clear() -> None:
    """At the very end: remove what was counted."""
    shutil.rmtree(os.environ[SHARED_FOLDER], ignore_errors=True)
