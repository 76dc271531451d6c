"""What every finding code means: one entry a code, from which the documentation pages are made.

R0.. and R1.. mean that no pack can be built, R2.. that a check across the pack fails, R3.. that the
rules engine cannot take it, R4.. that a case fails, R5.. that a material cannot be identified, R6..
that a proof over the whole fact domain fails. A code keeps its meaning for ever.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from rules.codes import (
    cases,
    conditions,
    effects,
    engine,
    files,
    identification,
    overlays,
    pack,
    proof,
    shapes,
    yaml,
)
from rules.codes.code import Code

CODES: Mapping[str, Code] = MappingProxyType(
    {
        code.id: code
        for family in (
            files,
            yaml,
            shapes,
            conditions,
            effects,
            overlays,
            pack,
            engine,
            cases,
            identification,
            proof,
        )
        for code in family.CODES
    }
)
"""Every code by its id."""

__all__ = ["CODES", "Code"]
