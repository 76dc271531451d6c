"""Tells of a value of the wrong type, and what to write instead."""

from __future__ import annotations

from rules.loading.nodes import Items, Members, Node, Scalar, Spelling
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.spellings import NUMBER


def refuse_type(node: Node, what: str, wanted: str, report: Report) -> None:
    """Report a node that is not what is `wanted`, with the fix; nothing where it is reported already."""
    if isinstance(node, Scalar) and node.spelling is Spelling.FAULTY:
        return
    report.add("R103", node.place, f"{what} must be {wanted}, not {_shown(node)}; {_mend(node, wanted)}")


def _shown(node: Node) -> str:
    match node:
        case Items():
            return "a list"
        case Members():
            return "a mapping"
        case Scalar(_, Spelling.NULL, _):
            return "null"
        case Scalar(_, Spelling.BOOLEAN, text):
            return f"the truth value {text}"
        case Scalar(_, spelling, text):
            return f"the {spelling.value} {quoted(text)}"


def _mend(node: Node, wanted: str) -> str:
    text = node.text if isinstance(node, Scalar) else ""
    unquoted = {"a number": NUMBER.fullmatch(text), "true or false": text in ("true", "false")}
    if unquoted.get(wanted):
        return f"take the quotes away: {text}"
    if wanted == "a text" and text and text != "null":
        return f"put it in quotes: '{text}'"
    if wanted == "a list" and text and text != "null":
        return f"write [{text[:40]}]"
    return {
        "a text": "write one text here",
        "a number": "write one such as 10 or 0.5",
        "true or false": "write true or false, without quotes",
        "a date": "write one such as 2026-01-31",
        "a list": "write its items as '- item' lines",
        "a mapping": "write its members as 'name: value' lines",
    }[wanted]
