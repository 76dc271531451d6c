"""A YAML file as it was written: every value as its own text, with the comments that belong to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field


class CannotLayOut(ValueError):
    """The file has no canonical layout; the message says why and what to do."""

    UNREADABLE = "the file cannot be read; mend what 'rules check' tells first"


BLANK = ""
"""A remark that is an empty line."""


@dataclass
class Leaf:
    """A scalar; `text` is what was written, quotes included, from `start` to `end` in the file."""

    text: str
    start: int
    end: int

    @property
    def is_block(self) -> bool:
        """Whether its lines stand below an indicator `|` or `>`."""
        return self.text[:1] in ("|", ">")


@dataclass
class Entry:
    """A member of a mapping, or an item of a list, whose `key` is None.

    `head` are comments and empty lines above it, `trailing` the comment behind it on its line with the
    blanks before it, which may set it below others.
    """

    key: str | None
    start: int
    parent: Block
    value: Leaf | Block
    head: list[str] = field(default_factory=list)
    trailing: str | None = None


@dataclass
class Block:
    """A mapping or a list; with `flow` in brackets, which end before `end`. `foot` are comments below it."""

    mapping: bool
    flow: bool
    start: int
    column: int
    owner: Entry | None = None
    entries: list[Entry] = field(default_factory=list)
    foot: list[str] = field(default_factory=list)
    end: int = 0

    def all_entries(self) -> Iterator[Entry]:
        """Every entry in it, at any depth, in the order written."""
        for entry in self.entries:
            yield entry
            if isinstance(entry.value, Block):
                yield from entry.value.all_entries()

    def has_remarks(self) -> bool:
        """Whether any comment stands in it."""
        within = any(entry.trailing or any(entry.head) for entry in self.all_entries())
        return within or any(self.foot) or any(any(block.foot) for block in self._blocks())

    def _blocks(self) -> Iterator[Block]:
        return (entry.value for entry in self.all_entries() if isinstance(entry.value, Block))


Value = Leaf | Block


def last_index(value: Value) -> int:
    """Where the last character of a value stands, or of the last one in it."""
    if isinstance(value, Leaf) or value.flow or not value.entries:
        return max(value.end - 1, value.start)
    return last_index(value.entries[-1].value)
