"""Typed reading of single nodes. Nothing is converted: `"2"` is not 2 and `yes` is not true.

A reader always answers; where the value is at fault it reports so and answers a placeholder (an
empty text, not-a-number, None), of which no further fault is then found. A pack with findings of this kind is
never built, so no placeholder is ever used.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import date
from enum import Enum
from math import nan
from typing import TypeVar

from rules.loading.mismatch import refuse_type
from rules.loading.nodes import Items, Members, Node, Scalar, Spelling
from rules.loading.phrases import did_you_mean, quoted
from rules.loading.report import Report
from rules.loading.spellings import DATE
from rules.places import Place

T = TypeVar("T")
E = TypeVar("E", bound=Enum)

MAX_NAME = 64


class Joint(Enum):
    """How the words of a name are joined: facts, members and parameters by `_`, the rest by `-`."""

    SNAKE = "_"
    KEBAB = "-"


_NAMES = {joint: re.compile(rf"[a-z][a-z0-9]*(?:{joint.value}[a-z0-9]+)*") for joint in Joint}


def text_of(node: Node, what: str, report: Report) -> str:
    """A text that is not blank, without blanks around it; "" where it is at fault."""
    if isinstance(node, Scalar) and node.spelling is Spelling.TEXT:
        if not node.text.strip():
            report.add("R108", node.place, f"{what} is blank; write a text")
        return node.text.strip()
    refuse_type(node, what, "a text", report)
    return ""


def name_of(node: Node, what: str, joint: Joint, report: Report) -> str:
    """A name in small letters; "" where it is at fault."""
    name = text_of(node, what, report)
    return checked_name(name, node.place, what, joint, report) if name else ""


def checked_name(name: str, place: Place, what: str, joint: Joint, report: Report) -> str:
    """The name itself where it is one in small letters; "" where it is not."""
    if _NAMES[joint].fullmatch(name) and len(name) <= MAX_NAME:
        return name
    mended = re.sub(r"[^a-z0-9]+", joint.value, name.lower()).strip(joint.value)[:MAX_NAME]
    told = f"{what} {quoted(name)} is not small letters and digits joined by '{joint.value}'"
    fix = f"write {quoted(mended)}" if _NAMES[joint].fullmatch(mended) else "begin with a letter"
    report.add("R104", place, f"{told}; {fix}")
    return ""


def number_of(
    node: Node, what: str, report: Report, at_least: float | None = None, at_most: float | None = None
) -> float:
    """A number inside the bounds, as a float; not-a-number where it is at fault."""
    if not (isinstance(node, Scalar) and node.spelling is Spelling.NUMBER):
        refuse_type(node, what, "a number", report)
        return nan
    number = float(node.text) + 0.0  # never minus zero
    if (at_least is not None and number < at_least) or (at_most is not None and number > at_most):
        report.add("R106", node.place, f"{what} is {node.text}; write a number {_bounds(at_least, at_most)}")
        return nan
    return number


def boolean_of(node: Node, what: str, report: Report) -> bool | None:
    """True or false; None where it is at fault."""
    if isinstance(node, Scalar) and node.spelling is Spelling.BOOLEAN:
        return node.text == "true"
    refuse_type(node, what, "true or false", report)
    return None


def date_of(node: Node, what: str, report: Report) -> date | None:
    """A calendar date, in quotes or not; None where it is at fault."""
    if isinstance(node, Scalar) and DATE.fullmatch(node.text):
        try:
            return date.fromisoformat(node.text)
        except ValueError as error:
            report.add(
                "R106", node.place, f"{what} {quoted(node.text)} is no date: {error}; write a day there is"
            )
            return None
    refuse_type(node, what, "a date", report)
    return None


def choice_of(node: Node, what: str, choices: Mapping[str, T], report: Report) -> T | None:
    """The choice that a text names; None where it is at fault."""
    text = text_of(node, what, report)
    if not text or text in choices:
        return choices.get(text)
    report.add(
        "R105", node.place, f"{what} is {quoted(text)}{did_you_mean(text, choices) or '; see the README'}"
    )
    return None


def choices_of(kinds: type[E]) -> dict[str, E]:
    """The members of an enumeration by the text that names them."""
    return {str(kind.value): kind for kind in kinds}


def reference_of(node: Node, noun: str, known: Collection[str], code: str, report: Report) -> str:
    """The name of something declared elsewhere; "" where nothing of that name is."""
    name = text_of(node, f"the name of a {noun}", report)
    return name if name and is_known(name, node.place, noun, known, code, report) else ""


def is_known(name: str, place: Place, noun: str, known: Collection[str], code: str, report: Report) -> bool:
    """Whether something of that name is declared; a fault where not."""
    if name not in known:
        hint = did_you_mean(name, known) or "; declare it first"
        report.add(code, place, f"unknown {noun} {quoted(name)}{hint}")
    return name in known


def items_of(node: Node, what: str, report: Report, least: int = 0) -> tuple[Node, ...]:
    """The items of a list; none where it is at fault."""
    if not isinstance(node, Items):
        refuse_type(node, what, "a list", report)
        return ()
    if len(node.nodes) < least:
        report.add("R108", node.place, f"{what} is empty; name at least {least}")
    return node.nodes


def members_of(node: Node, what: str, report: Report) -> Members:
    """A mapping; an empty one where it is at fault."""
    if isinstance(node, Members):
        return node
    refuse_type(node, what, "a mapping", report)
    return Members(node.place, {}, {})


def without_repeats(read: Collection[tuple[Node, T]], what: str, report: Report) -> tuple[T, ...]:
    """The values read from a list; a value that is there twice is a fault."""
    kept: dict[T, None] = {}
    for node, value in read:
        if value in kept:
            report.add("R109", node.place, f"{what} has {value!s} twice; take one away")
        kept[value] = None
    return tuple(kept)


def _bounds(at_least: float | None, at_most: float | None) -> str:
    if at_most is None:
        return f"of at least {at_least:g}"
    return f"of at most {at_most:g}" if at_least is None else f"from {at_least:g} to {at_most:g}"
