"""Plain scalars: the few spellings that are read, and those that YAML readers disagree on.

YAML 1.1 reads `no` as false and `12:30` as 750, YAML 1.2 reads neither so. A rule pack takes no side:
what two readers could read differently is refused, with the spelling that all of them read alike.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from rules.loading.nodes import Spelling
from rules.loading.phrases import quoted

NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WORDS = {"true": Spelling.BOOLEAN, "false": Spelling.BOOLEAN, "null": Spelling.NULL}


@dataclass(frozen=True)
class _Trap:
    """A spelling to refuse; `mend` is what to write instead, beside quotes where text is meant."""

    pattern: re.Pattern[str]
    what: str
    mend: str


def _trap(pattern: str, what: str, mend: str) -> _Trap:
    return _Trap(re.compile(pattern), what, mend)


_TRAPS = (
    _trap(r"(?i:yes|on)|True|TRUE", "read as a truth value by some", "true"),
    _trap(r"(?i:no|off)|False|FALSE", "read as a truth value by some", "false"),
    _trap(r"~|Null|NULL", "another spelling of null", "null where null is meant"),
    _trap(r"[-+]?[0-9][0-9_]*(:[0-9_]*)+(\.[0-9_]*)?", "a number to base 60 for some", "the number"),
    _trap(r"[-+]?0[xX][0-9a-fA-F_]+", "a hexadecimal number", "a decimal number"),
    _trap(r"[-+]?0[oO][0-7_]+|[-+]?0[bB][01_]+", "an octal or binary number", "a decimal number"),
    _trap(r"[-+]?0[0-9_]+(\.[0-9_]*)?", "an octal number for some", "the number without leading zeros"),
    _trap(r"(?i:[-+]?\.inf|\.nan)", "not a finite number", "a finite number"),
    _trap(
        r"[-+]?([0-9][0-9_]*(\.[0-9_]*)?|\.[0-9][0-9_]*)[eE][-+]?[0-9]+",
        "a number for some and a text for others",
        "the number in full",
    ),
    _trap(r"[-+]?[0-9][0-9_]*(\.[0-9_]*)?", "a spelling of a number that not all read alike", "digits only"),
    _trap(r"[-+]?\.[0-9_]+", "a spelling of a number that not all read alike", "a digit before the point"),
    _trap(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt \t].*)?", "read as a moment by some", "a date as 2026-01-31"),
    _trap(r"=|<<", "a sign with a meaning of its own to some", "the values themselves"),
)


def spelling_of(text: str) -> Spelling:
    """What a plain scalar is; FAULTY for one that not all readers read alike (`mend_for` says more)."""
    if text in _WORDS:
        return _WORDS[text]
    if NUMBER.fullmatch(text):
        return Spelling.NUMBER
    if DATE.fullmatch(text):
        return Spelling.DATE
    return Spelling.FAULTY if not text or _trap_in(text) else Spelling.TEXT


def mend_for(text: str) -> str:
    """Why a plain scalar is refused, and what to write instead."""
    trap = _trap_in(text)
    if trap is None:
        return "a value is missing; write it, or null where null is meant"
    return f"{quoted(text)} is {trap.what}; write {trap.mend}, or '{text[:40]}' in quotes where text is meant"


def _trap_in(text: str) -> _Trap | None:
    # Every trap begins with one of these; most texts do not, and need no further look.
    if text[0:1] not in "0123456789+-.~=<yYnNoOtTfF":
        return None
    return next((trap for trap in _TRAPS if trap.pattern.fullmatch(text)), None)
