"""Runs a proof in a process of its own, within bounds."""

from __future__ import annotations

import json
import logging
import signal
import subprocess
import sys
from collections.abc import Sequence

from api.packs.documents import Document, blank
from api.packs.reading import Files

WITHIN_S = 120
# -P: a folder `api` where the service is started must not be taken for ours.
CHILD = (sys.executable, "-P", "-m", "api.packs.child")

_log = logging.getLogger("stagewright")


def prove_apart(stack: Sequence[Files], child: Sequence[str] = CHILD, within_s: float = WITHIN_S) -> Document:
    """What the proof of a stack finds; a process that crashes or does not end is a failed proof."""
    text = json.dumps([dict(files) for files in stack]).encode()
    command = [*child, str(max(1, round(within_s)))]
    try:
        done = subprocess.run(command, input=text, capture_output=True, timeout=within_s, check=False)
    except subprocess.TimeoutExpired:
        return blank(f"the proof did not end within {within_s:g} s")
    if done.returncode:
        _log.error("a proof failed: %s", done.stderr.decode(errors="replace")[-4000:])
        return blank(f"the proof did not come to its end: {_how(done.returncode)}; the log tells more")
    document: Document = json.loads(done.stdout)
    return document


def _how(code: int) -> str:
    if code > 0:
        return f"its process gave up with exit code {code}"
    try:
        return f"its process was ended by {signal.Signals(-code).name}"
    except ValueError:
        return f"its process was ended by signal {-code}"
