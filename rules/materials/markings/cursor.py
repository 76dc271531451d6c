"""Reads a text from left to right and tells exactly where it stops making sense."""

from __future__ import annotations

from string import ascii_uppercase, digits
from typing import NoReturn

LETTERS = frozenset(ascii_uppercase)
DIGITS = frozenset(digits)
BLANKS = " \t\r\n"
LONGEST = 200


class MarkingError(ValueError):
    """A marking that can't be read: `position` counts from 1 in `text`; `read` is empty at its end."""

    def __init__(self, text: str, position: int, read: str, expected: str) -> None:
        found = f"'{read}'" if read else "the end"
        super().__init__(f"position {position}: read {found}, expected {expected}")
        self.text = text
        self.position = position
        self.read = read
        self.expected = expected


class Cursor:
    """A place in `text`, surrounding blanks left out. Raises MarkingError for blanks inside."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._end = len(text.rstrip(BLANKS))
        self.at = min(len(text) - len(text.lstrip(BLANKS)), self._end)
        if self._end - self.at > LONGEST:
            self.fail(f"at most {LONGEST} characters", self.at + LONGEST)
        for place in range(self.at, self._end):
            if text[place] in BLANKS:
                self.fail("no blank inside a marking", place, text[place])

    @property
    def next(self) -> str:
        """The next character; empty at the end."""
        return self.text[self.at] if self.at < self._end else ""

    def sees(self, literal: str) -> bool:
        """Whether `literal` comes next."""
        return self.text.startswith(literal, self.at, self._end)

    def take_if(self, literal: str) -> bool:
        """Step over `literal` when it comes next."""
        seen = self.sees(literal)
        self.at += len(literal) if seen else 0
        return seen

    def take(self, literal: str, expected: str) -> None:
        """Step over `literal`. Raises MarkingError when something else comes next."""
        if not self.take_if(literal):
            self.fail(expected)

    def take_while(self, allowed: frozenset[str]) -> str:
        """Step over the longest run of `allowed` characters, which may be empty, and return it."""
        start = self.at
        while self.next and self.next in allowed:
            self.at += 1
        return self.text[start : self.at]

    def fail(self, expected: str, at: int | None = None, read: str | None = None) -> NoReturn:
        """Raise MarkingError here, or for what was `read` from `at` on."""
        position = self.at if at is None else at
        found = self.text[position : min(position + 1, self._end)] if read is None else read
        raise MarkingError(self.text, position + 1, found, expected)
