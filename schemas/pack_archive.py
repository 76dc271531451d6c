"""Reads the files of a pack from a zip archive, and trusts nothing in it.

Names, sizes and numbers are checked before anything is unpacked; sizes again while it is, since an
archive may declare what it likes. Nothing is written to disk.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import PurePosixPath
from stat import S_ISDIR, S_ISREG
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from rules.loading.bounds import MAX_FILE_BYTES, MAX_FILES, MAX_PACK_BYTES

MAX_ENTRIES = 2 * MAX_FILES
"""Files that are read, with their folders and what an archiver puts beside them."""

_ENCRYPTED = 0x1
_END = b"PK\x05\x06"


class ArchiveRefused(ValueError):
    """The archive is not read; the message names the entry and the reason."""


def files_in(content: bytes) -> dict[str, str]:
    """Path -> text of every `.yaml` file. Hidden files and other kinds are passed over.

    Where everything lies in one folder, paths count from there. Raises ArchiveRefused.
    """
    _refuse_many(content)
    try:
        with ZipFile(BytesIO(content)) as archive:
            entries = archive.infolist()
            _check_all(entries)
            texts = dict(_texts(archive, [entry for entry in entries if _is_read(entry)]))
    # NotImplementedError: a way of packing that `zipfile` knows of and does not read.
    except (BadZipFile, EOFError, zlib.error, NotImplementedError, OSError, ValueError) as error:
        if isinstance(error, ArchiveRefused):
            raise
        raise ArchiveRefused(f"the archive is damaged: {error}") from error
    return _without_common_folder(texts)


def _refuse_many(content: bytes) -> None:
    """The directory is read as a whole, so its size is looked at first."""
    at = content.rfind(_END)
    if at < 0 or len(content) < at + 22:
        raise ArchiveRefused("this is no zip archive")
    entries = int.from_bytes(content[at + 10 : at + 12], "little")
    if entries > MAX_ENTRIES:
        raise ArchiveRefused(f"the archive has {entries} entries, more than {MAX_ENTRIES}")


def _check_all(entries: list[ZipInfo]) -> None:
    if len(entries) > MAX_ENTRIES:
        raise ArchiveRefused(f"the archive has {len(entries)} entries, more than {MAX_ENTRIES}")
    seen: set[str] = set()
    for entry in entries:
        _check(entry)
        if entry.filename in seen:
            raise _refused(entry, "is there twice")
        seen.add(entry.filename)
    declared = sum(entry.file_size for entry in entries)
    if declared > MAX_PACK_BYTES:
        raise ArchiveRefused(
            f"the files have {declared // 1024} KiB unpacked, more than {MAX_PACK_BYTES // 1024}"
        )


def _check(entry: ZipInfo) -> None:
    # `filename` has lost what follows a NUL.
    name = entry.orig_filename
    parts = name.removesuffix("/").split("/")
    if "\0" in name or "\\" in name or ":" in name or any(part in ("", ".", "..") for part in parts):
        raise _refused(entry, "leads out of the archive, or is no plain path")
    mode = entry.external_attr >> 16
    if mode and not (S_ISREG(mode) or S_ISDIR(mode) or mode & 0o170000 == 0):
        raise _refused(entry, "is a link or a device, and not a plain file")
    if entry.flag_bits & _ENCRYPTED:
        raise _refused(entry, "is encrypted")
    if entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise _refused(entry, "is packed in an unusual way; use deflate")
    if entry.file_size > MAX_FILE_BYTES:
        raise _refused(entry, f"has {entry.file_size // 1024} KiB, more than {MAX_FILE_BYTES // 1024}")


def _is_read(entry: ZipInfo) -> bool:
    path = PurePosixPath(entry.filename)
    hidden = any(part.startswith(".") or part == "__MACOSX" for part in path.parts)
    return not entry.is_dir() and not hidden and path.suffix.lower() in (".yaml", ".yml")


def _texts(archive: ZipFile, entries: list[ZipInfo]) -> Iterator[tuple[str, str]]:
    total = 0
    for entry in entries:
        with archive.open(entry) as file:
            content = file.read(MAX_FILE_BYTES + 1)
        total += len(content)
        if len(content) > MAX_FILE_BYTES or len(content) > entry.file_size or total > MAX_PACK_BYTES:
            raise _refused(entry, "unpacks to more than it declares or may have")
        try:
            yield entry.filename, content.decode()
        except UnicodeDecodeError as error:
            raise _refused(entry, f"is not UTF-8: {error.reason} at byte {error.start}") from error


def _without_common_folder(texts: dict[str, str]) -> dict[str, str]:
    folders = {path.partition("/")[0] for path in texts if "/" in path}
    if len(folders) != 1 or not all("/" in path for path in texts):
        return texts
    return {path.partition("/")[2]: text for path, text in texts.items()}


def _refused(entry: ZipInfo, why: str) -> ArchiveRefused:
    return ArchiveRefused(f"the entry {entry.orig_filename[:120]!r} {why}")
