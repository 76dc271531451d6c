"""Finds the comments and empty lines of a file, and gives each to the entry that it stands by."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rules.authoring.formatting.tree import BLANK, Block, Entry, Leaf

_COMMENT = re.compile(r"(?<![^\s])#.*")


@dataclass(frozen=True)
class _Remark:
    """`text` is BLANK for an empty line; `gap` is the number of blanks before a comment behind something.

    `alone` tells that nothing else stands in its line.
    """

    text: str
    index: int
    column: int
    alone: bool
    gap: int = 0


def comments_in(text: str, leaves: Sequence[Leaf]) -> list[str]:
    """Every comment, sorted."""
    return sorted(remark.text for remark in _remarks(text, leaves) if remark.text != BLANK)


def give_remarks(text: str, root: Block, leaves: Sequence[Leaf]) -> None:
    """Enter every comment and empty line of `text` into the tree."""
    entries = [*root.all_entries()]
    starts = [entry.start for entry in entries]
    blank_above: int | None = None  # The number of the entry below an empty line that is not yet placed.
    for remark in _remarks(text, leaves):
        below = bisect_right(starts, remark.index)
        if blank_above is not None and blank_above != below:
            entries[blank_above].head.append(BLANK)
            blank_above = None
        if remark.text == BLANK:
            blank_above = below
        elif below and not remark.alone:
            _trail(entries[below - 1], remark, root)
        else:
            last = entries[below - 1] if below else None
            target = _target(last, entries[below] if below < len(entries) else None, remark, root)
            target += [remark.text] if blank_above is None else [BLANK, remark.text]
            blank_above = None
    if blank_above is not None and blank_above < len(entries):
        entries[blank_above].head.append(BLANK)


def _target(last: Entry | None, following: Entry | None, remark: _Remark, root: Block) -> list[str]:
    """Where a comment on a line of its own belongs: above the entry below it, or below a list or mapping."""
    if last is None:
        return following.head if following else root.foot
    if _is_before_value(last, remark):
        return last.head
    around = [*_blocks_around(last)]
    if isinstance(last.value, Block) and not last.value.entries:
        around.insert(0, last.value)
    for block in around:
        if block.flow and remark.index >= block.end:
            continue
        if block.flow or block.column <= remark.column:
            ends_here = following is None or not _is_within(following, block)
            deeper = following is None or block.flow or block.column > following.parent.column
            return block.foot if ends_here and deeper else following.head if following else root.foot
    return following.head if following else root.foot


def _is_within(entry: Entry, block: Block) -> bool:
    return any(block is around for around in _blocks_around(entry))


def _is_before_value(entry: Entry, remark: _Remark) -> bool:
    """Whether the remark stands between a key and its value."""
    value = entry.value
    return remark.index < value.start and (isinstance(value, Leaf) or value.flow)


def _trail(last: Entry, remark: _Remark, root: Block) -> None:
    """A comment behind something: it goes with the outermost entry that ends before it."""
    entry: Entry | None = last
    while entry and entry.parent.flow and entry.parent.end <= remark.index:
        entry = entry.parent.owner
    if entry is None:
        root.foot.append(remark.text)
    elif entry.trailing is None:
        entry.trailing = " " * max(remark.gap, 2) + remark.text
    else:
        entry.head.append(remark.text)


def _blocks_around(entry: Entry) -> Iterator[Block]:
    """The lists and mappings that hold the entry, innermost first."""
    block: Block | None = entry.parent
    while block:
        yield block
        block = block.owner.parent if block.owner else None


def _remarks(text: str, leaves: Sequence[Leaf]) -> Iterator[_Remark]:
    """Comments and empty lines between scalars, in order."""
    edges = [0, *(edge for leaf in leaves for edge in (leaf.start, leaf.end)), len(text)]
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        line_start = text.rfind("\n", 0, start) + 1
        for line in text[line_start:end].splitlines(keepends=True):
            yield from _remark_in(line, line_start, start)
            line_start += len(line)


def _remark_in(line: str, line_start: int, start: int) -> Iterator[_Remark]:
    """The remark of one line; what stands before `start` belongs to a scalar."""
    comment = _COMMENT.search(line, max(start - line_start, 0))
    if comment:
        column = comment.start()
        before = line[:column].rstrip()
        alone = before.strip(" -") == "" and line_start >= start
        yield _Remark(comment.group().rstrip(), line_start + column, column, alone, column - len(before))
    elif not line.strip() and line.endswith("\n") and line_start >= start:
        yield _Remark(BLANK, line_start, 0, alone=True)
