"""Short names that durable-rules can't confuse.

The library tells attributes, messages and states apart by a 32-bit hash of their names alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count


def fnv1a(text: str) -> int:
    """The 32-bit Fowler-Noll-Vo 1a hash of ASCII `text`.

    Source: D. Eastlake et al., RFC 9923, The FNV Non-Cryptographic Hash Algorithm.
    """
    value = 2166136261
    for byte in text.encode("ascii"):
        value = ((value ^ byte) * 16777619) & 0xFFFFFFFF
    return value


def distinct_names(prefix: str, wanted: int, taken: Iterable[str]) -> tuple[str, ...]:
    """`wanted` numbered names whose hashes differ from each other and from those `taken`."""
    hashes = {fnv1a(name) for name in taken}
    names: list[str] = []
    for number in count():
        if len(names) == wanted:
            return tuple(names)
        name = f"{prefix}{number}"
        if fnv1a(name) not in hashes:
            hashes.add(fnv1a(name))
            names.append(name)
    raise AssertionError("count() does not end")
