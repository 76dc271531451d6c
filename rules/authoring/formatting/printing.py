"""Writes a tree in the canonical layout."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rules.authoring.formatting.order import Row, Shape, below
from rules.authoring.formatting.tree import BLANK, Block, Entry, Leaf

WIDTH = 120
"""Lists and mappings in brackets that would pass this column are broken up."""

STEP = 2


def printed(root: Block, shape: Shape) -> str:
    """The whole file. Members are sorted in `root` itself."""
    _prepare(root, shape)
    return "".join(f"{line}\n" for line in _block(root, 0))


def _prepare(block: Block, shape: Shape) -> None:
    """Put members in order, and comments inside empty brackets above them."""
    if isinstance(shape, Row) and block.owner:  # Comments at the top of a file are about all of it.
        rank = {name: number for number, name in enumerate(shape.members)}
        block.entries.sort(key=lambda entry: rank.get(_name(entry), len(rank)))
    for entry in block.entries:
        if isinstance(entry.value, Block):
            _prepare(entry.value, below(shape, None if entry.key is None else _name(entry)))
            if not entry.value.entries:
                entry.head += entry.value.foot


def _lift(entry: Entry, indent: int) -> None:
    """Put comments above a dash that has the first member of its item on its line, and no room for them."""
    block = entry.value
    if entry.key is None and isinstance(block, Block) and _flow_lines(block, indent + STEP, 0) is None:
        first = block.entries[0]
        _lift(first, indent + STEP)
        entry.head += [*([entry.trailing.strip()] if entry.trailing else []), *first.head]
        entry.trailing, first.head = None, []


def _block(block: Block, indent: int) -> Iterator[str]:
    for number, entry in enumerate(block.entries):
        _lift(entry, indent)
        yield from _remarks(entry.head, indent, opening=number == 0)
        yield from _entry(entry, indent)
    yield from _remarks(block.foot, indent)


def _remarks(remarks: list[str], indent: int, opening: bool = False) -> Iterator[str]:
    """Comments, with one empty line at most between them and none where something opens."""
    last = BLANK if opening else None
    for remark in remarks:
        if remark != BLANK or last != BLANK:
            yield " " * indent + remark if remark else BLANK
        last = remark


def _entry(entry: Entry, indent: int) -> Iterator[str]:
    label = " " * indent + ("-" if entry.key is None else f"{_quoted(entry.key)}:")
    behind = entry.trailing or ""
    if isinstance(entry.value, Leaf):
        first, *others = _leaf_lines(entry.value, indent + STEP)
        lines = [f"{label} {first}".rstrip(), *others]
        if entry.value.is_block:
            yield from lines
        else:
            yield from (*lines[:-1], lines[-1] + behind)
        return
    flow = _flow_lines(entry.value, len(label) + 1, indent + STEP)
    if flow:
        yield f"{label} {flow[0]}" + (behind if len(flow) == 1 else "")
        yield from (*flow[1:-1], *(line + behind for line in flow[1:][-1:]))
        return
    lines = [*_block(entry.value, indent + STEP)]
    if entry.key is None:
        yield f"{label} {lines[0].lstrip()}"
        yield from lines[1:]
    else:
        yield label + behind
        yield from lines


def _leaf_lines(leaf: Leaf, indent: int) -> list[str]:
    """The text of a scalar; lines below its first one are set to `indent`."""
    first, *others = leaf.text.split("\n")
    if not leaf.is_block:
        text = _quoted(leaf.text) if not others else first.rstrip()
        return [text, *(" " * indent + line.strip() if line.strip() else BLANK for line in others)]
    least = min((len(line) - len(line.lstrip(" ")) for line in others if line.strip()), default=0)
    return [first, *(" " * indent + line[least:] if line.strip() else BLANK for line in others)]


def _flow_lines(block: Block, column: int, indent: int) -> list[str] | None:
    """The list or mapping in brackets, when it was so and may stay so; None where it is broken up."""
    if not block.entries:
        return ["{}" if block.mapping else "[]"]
    if not block.flow or block.has_remarks():
        return None
    inline = _inline(block)
    if inline is None:
        return None
    if column + len(inline) <= WIDTH:
        return [inline]
    if block.mapping or any(isinstance(entry.value, Block) for entry in block.entries):
        return None
    return _filled([_inline(entry.value) or "" for entry in block.entries], column, indent)


def _filled(items: list[str], column: int, indent: int) -> list[str]:
    """A list of scalars in brackets over several lines, each as full as it may be."""
    lines, line, room = [], "[", WIDTH - column
    for number, item in enumerate(items):
        text = item + ("]" if number == len(items) - 1 else ",")
        if len(line) > 1 and len(line) + 1 + len(text) > room:
            lines.append(line)
            line, room = " " * indent + text, WIDTH
        else:
            line += text if line == "[" else f" {text}"
    return [*lines, line]


def _inline(value: Leaf | Block) -> str | None:
    """A value in one line; None where a value in it is empty or has lines that can't be joined."""
    if isinstance(value, Leaf):
        if value.is_block or "\\\n" in value.text or re.search(r"\n\s*\n", value.text):
            return None
        return _quoted(re.sub(r"[ \t]*\n[ \t]*", " ", value.text))
    parts: list[str] = []
    for entry in value.entries:
        part = _inline(entry.value)
        if not part:
            return None
        parts.append(part if entry.key is None else f"{_quoted(entry.key)}: {part}")
    return ("{%s}" if value.mapping else "[%s]") % ", ".join(parts)


def _quoted(text: str) -> str:
    """A text in single quotes in double ones, where nothing in it needs another spelling there."""
    inner = text[1:-1].replace("''", "'")
    if text[:1] == "'" and not re.search(r'["\\\n]', inner):
        return f'"{inner}"'
    return text


def _name(entry: Entry) -> str:
    key = entry.key or ""
    return key[1:-1] if key[:1] in ("'", '"') else key
