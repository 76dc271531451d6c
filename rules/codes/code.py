"""One finding code."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Code:
    """`id` as in `R012`, a title, why it matters, how to mend it, and the smallest bad example."""

    id: str
    title: str
    why: str
    mend: str
    example: str
