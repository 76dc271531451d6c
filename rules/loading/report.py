"""Collects findings while a pack is read, so that one run shows every fault."""

from __future__ import annotations

from rules.findings import Finding
from rules.places import Place

MAX_FINDINGS = 500


class TooManyFindings(Exception):
    """The reading ends here: more findings would help nobody."""


class Report:
    """The findings so far.

    `incomplete` tells that whole parts of the pack could not be read: then nothing that refers to
    another part can be judged, and the reading ends before it comes to that.
    """

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.incomplete = False

    def add_gap(self, code: str, place: Place, message: str) -> None:
        """Note one fault that leaves the pack incomplete."""
        self.incomplete = True
        self.add(code, place, message)

    def add(self, code: str, place: Place, message: str) -> None:
        """Note one fault. Raises TooManyFindings beyond `MAX_FINDINGS`."""
        self.findings.append(Finding(code, place, message))
        if len(self.findings) >= MAX_FINDINGS:
            told = f"more than {MAX_FINDINGS} findings; mend these first, then check again"
            self.findings.append(Finding("R018", place, told))
            raise TooManyFindings
