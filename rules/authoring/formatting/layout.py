"""Lays a file out, and makes sure that nothing but its layout has changed."""

from __future__ import annotations

from collections.abc import Hashable

from rules.authoring.formatting.order import FILE, Row, Shape, below
from rules.authoring.formatting.printing import printed
from rules.authoring.formatting.reading import tree_of
from rules.authoring.formatting.remarks import comments_in, give_remarks
from rules.authoring.formatting.tree import Block, CannotLayOut
from rules.loading.composing import compose
from rules.loading.nodes import Items, Members, Node
from rules.loading.report import Report, TooManyFindings

_SPELLED = ("R011", "R014")
"""Faults of single values, which the layout leaves as they are."""


def laid_out(text: str) -> str:
    """The text of a pack file in the canonical layout. Raises CannotLayOut.

    Laying out the result again changes nothing. The loader reads the same from both.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    before = _read(text)
    root, leaves = tree_of(text)
    if not isinstance(root, Block) or not root.mapping or not root.entries:
        raise CannotLayOut("the file is not a mapping with members")
    comments = comments_in(text, leaves)
    give_remarks(text, root, leaves)
    result = printed(root, FILE)
    _, leaves_after = tree_of(result)
    if _read(result) != before or comments_in(result, leaves_after) != comments:
        raise CannotLayOut("the file is written in a way that cannot be laid out; write it more plainly")
    return result


def _read(text: str) -> Hashable:
    """What the loader reads from a file, without places."""
    report = Report()
    try:
        root = compose(text, "", "", report)
    except TooManyFindings:
        root = None
    if root is None or any(found.code not in _SPELLED for found in report.findings):
        raise CannotLayOut(CannotLayOut.UNREADABLE)
    return _meaning(root, FILE)


def _meaning(node: Node, shape: Shape) -> Hashable:
    """A value to compare: the order of members counts wherever the layout leaves it alone."""
    match node:
        case Items(_, nodes):
            return tuple(_meaning(item, below(shape, None)) for item in nodes)
        case Members(_, nodes):
            members = [(name, _meaning(value, below(shape, name))) for name, value in nodes.items()]
            return ("mapping", frozenset(members) if isinstance(shape, Row) else tuple(members))
        case _:
            return node.spelling, node.text
