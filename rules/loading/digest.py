"""The digest of a stack of packs."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256


def digest_of(files: Mapping[str, Mapping[str, str]]) -> str:
    """SHA-256, in hexadecimal, over pack names (lowest first), paths (sorted) and texts.

    Every part is preceded by its length, so that no two different stacks are encoded alike.
    """
    digest = sha256()

    def add(text: str) -> None:
        content = text.encode()
        digest.update(len(content).to_bytes(8, "big"))
        digest.update(content)

    for name, texts in files.items():
        add(name)
        digest.update(len(texts).to_bytes(8, "big"))
        for path in sorted(texts):
            add(path)
            add(texts[path])
    return digest.hexdigest()
