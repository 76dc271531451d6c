"""Checks, and what is found of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True)
class Check:
    """What holds for a good client, in words; why that matters; how to mend another one."""

    id: str
    holds: str
    why: str
    mend: str


class Status(Enum):
    """What is known of a check; the worst of what was found counts."""

    FAILED = "failed"
    PASSED = "passed"
    LEFT_OUT = "left out"
    """The client does not claim to do it."""
    NOT_SEEN = "not seen"
    """It never came to it, as something else went wrong before."""


@dataclass(frozen=True)
class Verdict:
    """What was found of a check. `seen` is empty where it passed."""

    check: Check
    status: Status
    seen: str = ""


class Judge:
    """Collects what is found."""

    def __init__(self) -> None:
        self._found: dict[str, Verdict] = {}

    def hold(self, check: Check, holds: bool, seen: str) -> None:
        """A check was put to the test; `seen` says what a client did for which it does not hold."""
        known = self._found.get(check.id)
        if known is None or known.status is not Status.FAILED:
            self._found[check.id] = Verdict(
                check, Status.PASSED if holds else Status.FAILED, "" if holds else seen
            )

    def leave_out(self, check: Check, why: str) -> None:
        """The client does not claim to do it."""
        self._found[check.id] = Verdict(check, Status.LEFT_OUT, why)

    def verdicts(self, checks: Iterable[Check]) -> list[Verdict]:
        """Of every check, in their order."""
        return [self._found.get(check.id, Verdict(check, Status.NOT_SEEN)) for check in checks]
