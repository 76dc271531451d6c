"""A backup made by a process that may write no file larger than so much: writes fail as on a full disk."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

REFUSED = 3

_BACK_UP = f"""
import resource, sys
from pathlib import Path
from storage.backups.backup import back_up
from storage.faults import BackupRefused

resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), resource.RLIM_INFINITY))
try:
    back_up(sys.argv[1], Path(sys.argv[2]), overwrite=True)
except BackupRefused as refused:
    print(refused)
    sys.exit({REFUSED})
"""


def refused_for_room(url: str, target: Path, room: int) -> str:
    """Why no backup was made in place of `target`."""
    command = [sys.executable, "-c", _BACK_UP, url, str(target), str(room)]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == REFUSED, ended.stderr
    return ended.stdout
