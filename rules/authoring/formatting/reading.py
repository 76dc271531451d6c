"""From the text of a file to its tree, ahead of comments."""

from __future__ import annotations

from collections.abc import Iterator

import yaml

from rules.authoring.formatting.tree import Block, CannotLayOut, Entry, Leaf, Value

_PARSER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def tree_of(text: str) -> tuple[Value, list[Leaf]]:
    """The root of a file, and every scalar, keys included, in order. Raises CannotLayOut."""
    reader = _Reader(text)
    try:
        return reader.root(), reader.leaves
    except yaml.YAMLError as error:
        raise CannotLayOut(CannotLayOut.UNREADABLE) from error


class _Reader:
    def __init__(self, text: str) -> None:
        self._text = text
        self._events: Iterator[yaml.Event] = iter(yaml.parse(text, Loader=_PARSER))
        self.leaves: list[Leaf] = []

    def root(self) -> Value:
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                return self._value(next(self._events), None)
        raise CannotLayOut(CannotLayOut.UNREADABLE)

    def _value(self, event: yaml.Event, owner: Entry | None) -> Value:
        if isinstance(event, yaml.ScalarEvent):
            return self._leaf(event)
        if not isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            raise CannotLayOut(CannotLayOut.UNREADABLE)
        mapping = isinstance(event, yaml.MappingStartEvent)
        start = _span(event)[0]
        column = start - self._text.rfind("\n", 0, start) - 1
        block = Block(mapping, bool(event.flow_style), start, column, owner)
        ended = yaml.MappingEndEvent if mapping else yaml.SequenceEndEvent
        while not isinstance(event := next(self._events), ended):
            key = self._leaf(event) if mapping else None
            self._enter(block, key, next(self._events) if mapping else event)
        block.end = _span(event)[1]
        return block

    def _enter(self, block: Block, key: Leaf | None, event: yaml.Event) -> None:
        start = key.start if key else _span(event)[0]
        entry = Entry(key.text if key else None, start, block, Leaf("", start, start))
        entry.value = self._value(event, entry)
        block.entries.append(entry)

    def _leaf(self, event: yaml.Event) -> Leaf:
        if not isinstance(event, yaml.ScalarEvent):
            raise CannotLayOut(CannotLayOut.UNREADABLE)
        start, end = _span(event)
        text = self._text[start:end]
        if event.style in ("|", ">"):
            if "+" in text.split("\n", 1)[0].split("#")[0]:
                told = "takes in the empty lines below it, which the layout may change"
                raise CannotLayOut(f"a text that begins with {text[:2]} {told}; leave the + out")
            text = text.rstrip(" \n")  # Empty lines below it are no part of it.
        leaf = Leaf(text, start, start + len(text))
        self.leaves.append(leaf)
        return leaf


def _span(event: yaml.Event) -> tuple[int, int]:
    """Where an event begins and ends in the text; of a list or mapping without brackets, only the first."""
    assert event.start_mark
    assert event.end_mark
    return event.start_mark.index, event.end_mark.index
