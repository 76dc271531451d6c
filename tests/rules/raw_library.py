"""durable-rules as it comes, to show what the adapter keeps away: in this process, or in one that may die."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from durable.engine import Host, MessageNotHandledException

RULESET = "raw"
Pattern = Mapping[str, Any]


class QuietHost(Host):
    """A host without timer and dispatcher threads."""

    def _run(self) -> None:
        pass


def host_of(patterns: list[Pattern], fired: list[int]) -> QuietHost:
    """One rule a pattern; each notes its number when it fires. Rule 0 is a start rule that notes nothing."""
    rules = {"start": {"all": [{"m": {"start": 1}}], "run": lambda closure: None}}
    for number, pattern in enumerate(patterns, 1):
        rules[f"r{number}"] = {"all": [{"m": pattern}], "run": _noting(fired, number)}
    host = QuietHost()
    host.register_rulesets({RULESET: rules})
    return host


def _noting(fired: list[int], number: int) -> Any:
    return lambda closure: fired.append(number)


def start(host: QuietHost, sid: str) -> None:
    """Run one action in a state, without which it can't be deleted."""
    host.assert_fact(RULESET, {"sid": sid, "id": "start", "start": 1})


def firings(pattern: Pattern, fact: Mapping[str, Any]) -> int:
    """How often a rule with this pattern fires for this fact."""
    fired: list[int] = []
    host = host_of([pattern], fired)
    start(host, "1")
    try:
        host.assert_fact(RULESET, {"sid": "1", **fact})
    except MessageNotHandledException:
        pass
    finally:
        host.delete_state(RULESET, "1")
    return len(fired)


def child(source: str) -> subprocess.Popen[str]:
    """A process that runs `source` with this module's names; fresh memory is filled, core files are off."""
    prelude = "import resource; resource.setrlimit(resource.RLIMIT_CORE, (0, 0)); from raw_library import *\n"
    here, root = Path(__file__).parent, Path(__file__).parents[2]
    path = os.pathsep.join([str(here), str(root), os.environ.get("PYTHONPATH", "")])
    return subprocess.Popen(
        [sys.executable, "-c", prelude + source],
        env={**os.environ, "PYTHONPATH": path, "MALLOC_PERTURB_": "165"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def outcome_of(source: str, seconds: float = 60.0) -> tuple[int, str]:
    """Exit status (negative: killed by that signal) and what was printed."""
    with child(source) as process:
        try:
            printed, _ = process.communicate(timeout=seconds)
        finally:
            process.kill()
    return process.returncode, printed.strip()


def hangs(source: str, seconds: float = 1.0) -> bool:
    """Whether `source`, once it has printed a line, is still running after some time."""
    with child(source) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline()
            process.wait(timeout=seconds)
        except subprocess.TimeoutExpired:
            return True
        finally:
            process.kill()
    return False
