"""What two catalogues say differently of one thing, member by member, in words."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from rules.wording import value_in_words

_LONGEST_SHOWN = 40


def changed_members(first: Any, second: Any, but: Collection[str] = ()) -> Iterator[str]:
    """`work.fixed_min 5 becomes 6`, for every member of two dataclasses of one kind that is not equal."""
    for member in fields(first):
        if member.compare and member.name not in but:
            yield from _changed(member.name, getattr(first, member.name), getattr(second, member.name))


def _changed(name: str, first: Any, second: Any) -> Iterator[str]:
    if first == second:
        return
    if is_dataclass(first) and is_dataclass(second):
        yield from (f"{name}.{told}" for told in changed_members(first, second))
    elif isinstance(first, Mapping) and isinstance(second, Mapping):
        for key in dict.fromkeys((*first, *second)):
            yield from _changed(f"{name}.{key}", first.get(key), second.get(key))
    elif isinstance(first, tuple) and isinstance(second, tuple):
        yield from _changed_list(name, first, second)
    else:
        told = [_shown(value) for value in (first, second)]
        yield f"{name} {told[0]} becomes {told[1]}" if all(told) else f"{name} is another"


def _changed_list(name: str, first: tuple[Any, ...], second: tuple[Any, ...]) -> Iterator[str]:
    gone = [item for item in first if item not in second]
    new = [item for item in second if item not in first]
    if not gone and not new:
        yield f"{name} in another order"
    elif all(map(_shown, gone + new)):
        yield from (f"{name} without '{_shown(item)}'" for item in gone)
        yield from (f"{name} with '{_shown(item)}'" for item in new)
    else:
        yield f"{name} are others"


def _shown(value: Any) -> str:
    """A value in words; "" where it is too long to be read in one line with another."""
    if value is None:
        return "none"
    if isinstance(value, Enum):
        return str(value.value)
    shown = value_in_words(value) if isinstance(value, (str, bool, int, float)) else ""
    return shown if len(shown) <= _LONGEST_SHOWN else ""
