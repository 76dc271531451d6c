"""Where in a pack something was written."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Place:
    """A position in one file of a pack; line and column count from 1."""

    file: str
    line: int
    column: int
    pack: str = ""

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


NOWHERE = Place("", 0, 0)
