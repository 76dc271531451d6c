"""A mapping whose members are a closed set, read one by one."""

from __future__ import annotations

from collections.abc import Collection
from enum import Enum
from math import nan
from typing import TypeVar

from rules.loading.nodes import Items, Node, is_null
from rules.loading.phrases import did_you_mean, nearest, quoted
from rules.loading.report import Report
from rules.loading.values import (
    Joint,
    boolean_of,
    choice_of,
    choices_of,
    items_of,
    members_of,
    name_of,
    number_of,
    reference_of,
    text_of,
    without_repeats,
)
from rules.places import Place

E = TypeVar("E", bound=Enum)


class Row:
    """One mapping, `what` in messages. Reports members that are unknown and required ones that are missing.

    An optional member that is null counts as not there; that is how an overlay takes one away.
    """

    def __init__(
        self, node: Node, what: str, report: Report, required: Collection[str], optional: Collection[str] = ()
    ) -> None:
        members = members_of(node, what, report)
        self.place = node.place
        self.what = what
        self._report = report
        known = [*required, *optional]
        for name in members.nodes:
            if name not in known:
                told = f"{what} has no member {quoted(name)}{did_you_mean(name, known)}"
                report.add("R101", members.keys[name], told)
        self._nodes = {
            name: value for name, value in members.nodes.items() if name in required or not is_null(value)
        }
        if members is node:
            # A misspelt member is one fault, not two.
            meant = {nearest(name, known) for name in members.nodes if name not in known}
            self.require(*(name for name in required if name not in meant))

    def __contains__(self, name: object) -> bool:
        return name in self._nodes

    def require(self, *names: str) -> None:
        """Report each of `names` that is not there."""
        for name in names:
            if name not in self:
                told = f"{self.what} lacks '{name}'; add the line '{name}: ...'"
                self._report.add("R102", self.place, told)

    def node(self, name: str) -> Node | None:
        """The value of a member, or None where it is not there."""
        return self._nodes.get(name)

    def place_of(self, name: str) -> Place:
        """The place of a member's value; of the mapping where it is not there."""
        node = self.node(name)
        return node.place if node else self.place

    def text(self, name: str) -> str:
        """A text; "" where it is not there."""
        node = self.node(name)
        return text_of(node, f"'{name}'", self._report) if node else ""

    def name(self, name: str, joint: Joint = Joint.KEBAB) -> str:
        """A name in small letters; "" where it is not there."""
        node = self.node(name)
        return name_of(node, f"'{name}'", joint, self._report) if node else ""

    def number(
        self, name: str, default: float = nan, at_least: float | None = None, at_most: float | None = None
    ) -> float:
        """A number inside the bounds; `default` where it is not there."""
        node = self.node(name)
        return number_of(node, f"'{name}'", self._report, at_least, at_most) if node else default

    def optional_number(
        self, name: str, at_least: float | None = None, at_most: float | None = None
    ) -> float | None:
        """A number inside the bounds; None where it is null or not there."""
        if name not in self or is_null(self.node(name)):
            return None
        return self.number(name, at_least=at_least, at_most=at_most)

    def interval(
        self, name: str, at_least: float | None = None, at_most: float | None = None
    ) -> tuple[float, float] | None:
        """A list of two numbers inside the bounds, the lower one first; None where it is not there."""
        what = f"an item of '{name}'"
        numbers = [number_of(item, what, self._report, at_least, at_most) for item in self.items(name)]
        if len(numbers) != 2:
            if isinstance(self.node(name), Items):
                told = f"'{name}' must be two numbers, not {len(numbers)}; write [low, high]"
                self._report.add("R103", self.place_of(name), told)
            return None
        if numbers[0] > numbers[1]:
            told = f"'{name}' runs from {numbers[0]:g} back to {numbers[1]:g}; exchange them"
            self._report.add("R127", self.place_of(name), told)
            return None
        return numbers[0], numbers[1]

    def boolean(self, name: str) -> bool | None:
        """A truth value; None where it is not there."""
        node = self.node(name)
        return boolean_of(node, f"'{name}'", self._report) if node else None

    def choice(self, name: str, kinds: type[E]) -> E | None:
        """The member of an enumeration that the text names; None where it is not there."""
        node = self.node(name)
        return choice_of(node, f"'{name}'", choices_of(kinds), self._report) if node else None

    def items(self, name: str, least: int = 0) -> tuple[Node, ...]:
        """The items of a list; none where it is not there."""
        node = self.node(name)
        return items_of(node, f"'{name}'", self._report, least) if node else ()

    def texts(self, name: str, least: int = 0) -> tuple[str, ...]:
        """A list of texts, each once."""
        what = f"an item of '{name}'"
        read = [(item, text_of(item, what, self._report)) for item in self.items(name, least)]
        return without_repeats([(item, text) for item, text in read if text], f"'{name}'", self._report)

    def members(self, name: str) -> tuple[tuple[str, Place, Node], ...]:
        """The members of a mapping: name, place of the name, value; none where it is not there."""
        node = self.node(name)
        if node is None:
            return ()
        members = members_of(node, f"'{name}'", self._report)
        return tuple((key, members.keys[key], value) for key, value in members.nodes.items())

    def reference(self, name: str, noun: str, known: Collection[str], code: str) -> str:
        """The name of something declared elsewhere; "" where it is not there."""
        node = self.node(name)
        return reference_of(node, noun, known, code, self._report) if node else ""

    def optional_reference(self, name: str, noun: str, known: Collection[str], code: str) -> str | None:
        """The name of something declared elsewhere; None where it is null or not there."""
        if is_null(self.node(name)):
            return None
        return self.reference(name, noun, known, code) or None

    def references(
        self, name: str, noun: str, known: Collection[str], code: str, least: int = 0
    ) -> tuple[str, ...]:
        """Names of things declared elsewhere, each once."""
        read = [
            (item, reference_of(item, noun, known, code, self._report)) for item in self.items(name, least)
        ]
        return without_repeats([(item, found) for item, found in read if found], f"'{name}'", self._report)
