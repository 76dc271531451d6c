"""A key for caches: what was worked out of a thing is kept as long as it is asked of that very thing."""

from __future__ import annotations

from typing import Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """Equal to another for the same object only, which must not change.

    It holds on to the object, so that no other can take its place in memory while the key is kept.
    """

    __slots__ = ("it",)

    def __init__(self, it: T) -> None:
        self.it = it

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it

    def __hash__(self) -> int:
        return id(self.it)
