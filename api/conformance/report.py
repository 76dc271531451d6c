"""What was found, for people and for programs."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from api.conformance.model import Status, Verdict

_WIDTH = 110
_INDENT = " " * 12


def passed(verdicts: Sequence[Verdict]) -> bool:
    """Whether every check passed that the client claims to pass."""
    return all(each.status in (Status.PASSED, Status.LEFT_OUT) for each in verdicts)


def as_text(verdicts: Sequence[Verdict]) -> str:
    """A line a check; more about those that failed."""
    lines = [line for verdict in verdicts for line in _lines(verdict)]
    return "\n".join([*lines, _summary(verdicts)])


def as_json(verdicts: Sequence[Verdict]) -> str:
    """The same as a document."""
    document = {"passed": passed(verdicts), "checks": [_document(verdict) for verdict in verdicts]}
    return json.dumps(document, indent=2)


def _lines(verdict: Verdict) -> list[str]:
    check, status = verdict.check, verdict.status
    first = f"{status.value:<12}{check.id}: {check.holds}"
    if status is Status.FAILED:
        told = {"seen": verdict.seen, "why": check.why, "mend": check.mend}
        return [first, *(line for name, text in told.items() for line in _wrapped(f"{name}: {text}"))]
    return [first, *(_wrapped(verdict.seen) if verdict.seen else ())]


def _wrapped(text: str) -> list[str]:
    return wrap(text, _WIDTH, initial_indent=_INDENT, subsequent_indent=f"{_INDENT}  ")


def _summary(verdicts: Sequence[Verdict]) -> str:
    counts = Counter(each.status for each in verdicts)
    return ", ".join(f"{counts[status]} {status.value}" for status in Status if counts[status])


def _document(verdict: Verdict) -> dict[str, Any]:
    check = verdict.check
    told = {"id": check.id, "holds": check.holds, "status": verdict.status.value.replace(" ", "_")}
    return {**told, "seen": verdict.seen or None, "why": check.why, "mend": check.mend}
