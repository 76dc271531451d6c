"""One finding code."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Code:
    """`id` as in `R012`, a title, why it matters, how to mend it, the smallest bad example and a good one."""

    id: str
    title: str
    why: str
    mend: str
    example: str
    good: str
