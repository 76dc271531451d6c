"""Packs from the files of an upload and from the store."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rules.loading import check_files
from rules.loading.header import name_and_extends
from rules.loading.sections import HEADER_FILE
from rules.pack import Pack
from storage.store import Store

Files = Mapping[str, str]
"""Texts by path."""


class PackUnreadable(LookupError):
    """The pack is not kept, or cannot be built any more."""


def laid(files: Files, below: Sequence[Files]) -> list[Files]:
    """The stack that `files` make: on those `below` where they say what they extend, else alone."""
    _, extends = name_and_extends(files.get(HEADER_FILE, ""))
    return [files] if extends is None else [*below, files]


def kept_pack(store: Store, digest: str) -> Pack | None:
    """A pack as it was kept; None where there is none, or where it cannot be read any more.

    What checks have learnt to refuse since it was kept does not matter here.
    """
    files = store.pack_files(digest)
    return None if files is None else check_files(list(files.values())).pack
