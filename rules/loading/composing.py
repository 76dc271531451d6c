"""From the text of one file to nodes. Refuses all YAML that is not of the careful subset."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import count
from typing import Protocol

import yaml

from rules.loading.bounds import MAX_THINGS
from rules.loading.nodes import Items, Members, Node, Scalar, Spelling
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.spellings import mend_for, spelling_of
from rules.places import Place

MAX_DEPTH = 20
MAX_DIGITS = 15

_PARSER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# Control characters, line breaks that editors do not count, marks that turn the direction of text,
# and halves of surrogate pairs. A tab and the ordinary line breaks may stand in a file.
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)


class _Mark(Protocol):
    """A position in a file, from 0; the two parsers have a class each."""

    @property
    def line(self) -> int: ...

    @property
    def column(self) -> int: ...


class _Abandoned(Exception):
    """The rest of the file cannot be read; the report says why."""


def compose(text: str, file: str, pack: str, report: Report) -> Node | None:
    """The one document of a file; None when it can't be read, which the report then tells."""
    composer = _Composer(text, file, pack, report)
    try:
        return composer.document()
    except _Abandoned:
        pass
    except yaml.YAMLError as error:
        composer.refuse_syntax(error)
    report.incomplete = True
    return None


class _Composer:
    """Turns parser events into nodes, one file at a time.

    It works on events rather than on composed YAML nodes because only these still show anchors and
    aliases, and because a nest of a million brackets is left at the twenty-first.
    """

    def __init__(self, text: str, file: str, pack: str, report: Report) -> None:
        self._text = text
        self._file = file
        self._pack = pack
        self._report = report
        self._events: Iterator[yaml.Event] = iter(())

    def document(self) -> Node | None:
        self._refuse_characters()
        self._events = yaml.parse(self._text, Loader=_PARSER)
        root: Node | None = None
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    self._refuse(
                        "R006", event, "a second document begins here; put it into a file of its own"
                    )
                    raise _Abandoned
                if event.tags or event.version:
                    self._refuse("R008", event, "a directive is not read; take the line with % away")
                root = self._node(next(self._events), 0)
        if root is None:
            place = Place(self._file, 1, 1, self._pack)
            self._report.add(
                "R015", place, "the file holds nothing; write a key such as 'rules:', or delete it"
            )
        return root

    def refuse_syntax(self, error: yaml.YAMLError) -> None:
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        problem = getattr(error, "problem", None) or "it cannot be read"
        self._report.add(
            "R005",
            self._place_at(mark),
            f"this is not YAML: {problem}; indent with spaces alone, and put a text in quotes "
            "that holds ': ' or ' #' or begins with a sign",
        )

    def _refuse_characters(self) -> None:
        found = _FORBIDDEN.search(self._text, 1 if self._text.startswith("\ufeff") else 0)
        if found is None:
            return
        at = found.start()
        line = self._text.count("\n", 0, at) + 1
        place = Place(self._file, line, at - self._text.rfind("\n", 0, at), self._pack)
        self._refuse_character(found.group(), place)
        raise _Abandoned

    def _refuse_character(self, character: str, place: Place) -> None:
        self._report.add("R004", place, f"the character {quoted(character)} cannot be seen; take it out")

    def _place(self, event: yaml.Event) -> Place:
        return self._place_at(event.start_mark)

    def _place_at(self, mark: _Mark | None) -> Place:
        line, column = (mark.line, mark.column) if mark else (0, 0)
        return Place(self._file, line + 1, column + 1, self._pack)

    def _refuse(self, code: str, event: yaml.Event, message: str) -> None:
        self._report.add(code, self._place(event), message)

    def _node(self, event: yaml.Event, depth: int) -> Node:
        if isinstance(event, yaml.AliasEvent):
            self._refuse("R007", event, f"the alias '*{event.anchor}' is not read; write the values out here")
            return Scalar(self._place(event), Spelling.FAULTY, "")
        assert isinstance(event, (yaml.ScalarEvent, yaml.CollectionStartEvent))
        if event.anchor is not None:
            self._refuse("R007", event, f"the anchor '&{event.anchor}' is not read; take it away")
        if event.tag is not None:
            self._refuse("R008", event, f"the tag {quoted(event.tag)} is not read; take it away")
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event)
        if depth == MAX_DEPTH:
            self._refuse("R010", event, f"more than {MAX_DEPTH} levels of nesting; write it flatter")
            raise _Abandoned
        place = self._place(event)
        if isinstance(event, yaml.SequenceStartEvent):
            return Items(place, tuple(self._items(place, depth + 1)))
        return self._members(place, depth + 1)

    def _scalar(self, event: yaml.ScalarEvent) -> Scalar:
        place, text = self._place(event), event.value
        # Double quotes can spell, by an escape, what may not stand in the file.
        forbidden = _FORBIDDEN.search(text) or ("\r" in text and re.search("\r", text))
        if forbidden:
            self._refuse_character(forbidden.group(), place)
            return Scalar(place, Spelling.FAULTY, text)
        if event.style:
            return Scalar(place, Spelling.TEXT, text)
        spelling = spelling_of(text)
        if spelling is Spelling.FAULTY:
            self._report.add("R011", place, mend_for(text))
        if spelling is Spelling.NUMBER and len(text.strip("-").replace(".", "")) > MAX_DIGITS:
            told = f"{quoted(text)} has more than {MAX_DIGITS} digits; round it, or put it in quotes"
            self._report.add("R014", place, told)
            return Scalar(place, Spelling.FAULTY, text)
        return Scalar(place, spelling, text)

    def _items(self, place: Place, depth: int) -> Iterator[Node]:
        for number in count(1):
            event = next(self._events)
            if isinstance(event, yaml.SequenceEndEvent):
                return
            self._bound(number, place)
            yield self._node(event, depth)

    def _members(self, place: Place, depth: int) -> Members:
        nodes: dict[str, Node] = {}
        keys: dict[str, Place] = {}
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            key = self._node(event, depth)
            value = self._node(next(self._events), depth)
            name = self._key(key)
            if name is None:
                continue
            if name in nodes:
                told = f"{quoted(name)} stands here a second time; the first is in line {keys[name].line}"
                self._report.add("R009", key.place, told + "; keep one of them")
                continue
            nodes[name], keys[name] = value, key.place
            self._bound(len(nodes), place)
        return Members(place, nodes, keys)

    def _bound(self, number: int, place: Place) -> None:
        if number > MAX_THINGS:
            self._report.add("R002", place, f"more than {MAX_THINGS} things begin here; write fewer")
            raise _Abandoned

    def _key(self, key: Node) -> str | None:
        if isinstance(key, Scalar) and key.spelling in (Spelling.TEXT, Spelling.FAULTY):
            return key.text if key.spelling is Spelling.TEXT else None
        shown = f"{quoted(key.text)} in quotes" if isinstance(key, Scalar) else "a name"
        self._report.add("R016", key.place, f"what stands before a colon must be a text; write {shown}")
        return None
