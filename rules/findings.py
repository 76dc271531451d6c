"""What is wrong with a pack: one finding a fault, and how findings are shown.

The meaning of every code stands in `rules.codes`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from rules.places import Place


@dataclass(frozen=True)
class Finding:
    """One fault: its code, where it is, and a message with the value read and the fix."""

    code: str
    place: Place
    message: str

    @property
    def stops_loading(self) -> bool:
        """Whether no pack can be built (R0.., R1..), rather than a check or case failing on one."""
        return self.code[:2] in ("R0", "R1")


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings without repetition, by pack, file, line and column; the same ones always in the same order."""
    return tuple(
        sorted(
            set(findings),
            key=lambda finding: (finding.place.pack, finding.place, finding.code, finding.message),
        )
    )


def as_text(findings: Iterable[Finding], root: str = "") -> str:
    """One line a finding, `file:line:column CODE message`; `root` is set before every file name."""
    lines = (f"{root}{found.place} {found.code} {found.message}" for found in findings)
    return "".join(f"{printable(line)}\n" for line in lines)


def printable(text: str) -> str:
    """`text` on one line, with nothing in it that a terminal would act upon."""
    return "".join(char if char.isprintable() else ascii(char)[1:-1] for char in text)


def as_json(findings: Iterable[Finding]) -> str:
    """A JSON list of objects with `code`, `pack`, `file`, `line`, `column` and `message`."""
    rows = [
        {
            "code": found.code,
            "pack": found.place.pack,
            "file": found.place.file,
            "line": found.place.line,
            "column": found.place.column,
            "message": found.message,
        }
        for found in findings
    ]
    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"


def as_annotations(findings: Iterable[Finding], root: str = "") -> str:
    """One `::error` workflow command a finding, by which a build server marks the line at fault."""
    return "".join(_annotation(found, root) for found in findings)


def _annotation(found: Finding, root: str) -> str:
    place = found.place
    file = _escaped(root + place.file).replace(":", "%3A").replace(",", "%2C")
    position = f"file={file},line={place.line},col={place.column},title={found.code}"
    return f"::error {position}::{_escaped(found.message)}\n"


def _escaped(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")
