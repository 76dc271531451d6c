"""Reads the files of a pack from a folder, within bounds."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from stat import S_ISREG

from rules.loading.bounds import MAX_FILES, check_name, check_number, check_size
from rules.loading.checked import PackRefused
from rules.loading.report import Report, TooManyFindings
from rules.places import Place


def read_folder(folder: Path) -> dict[str, str]:
    """Relative POSIX path -> text of every `.yaml` file. Hidden files and other kinds are passed over.

    Raises PackRefused for a folder that cannot be read, for a file that is too large, not UTF-8 or
    nearly named `.yaml`, and for a link that leads out of the folder.
    """
    report = Report()
    files: dict[str, str] = {}
    try:
        if not folder.is_dir():
            report.add(
                "R001", Place(str(folder), 1, 1), "this is no folder; name the folder that holds pack.yaml"
            )
        for path in _paths(folder, report):
            text = _text(folder, path, report)
            if text is not None:
                files[path] = text
    except TooManyFindings:
        pass
    if report.findings:
        raise PackRefused(report.findings)
    return files


def _paths(folder: Path, report: Report) -> Iterator[str]:
    """Every path that may hold a part of the pack, relative to the folder."""

    def cannot_read(error: OSError) -> None:
        report.add("R001", Place(str(error.filename), 1, 1), f"{error.strerror}; make it readable")

    number = 0
    for here, folders, names in os.walk(folder, onerror=cannot_read):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in folders:
            if (Path(here) / name).is_symlink():
                path = (Path(here) / name).relative_to(folder).as_posix()
                report.add(
                    "R003", Place(path, 1, 1), "a linked folder is not read; put the files here themselves"
                )
        for name in sorted(names):
            path = (Path(here) / name).relative_to(folder).as_posix()
            if name.startswith(".") or not name.lower().endswith((".yaml", ".yml")):
                continue
            number += 1
            check_number(number, Place(path, 1, 1), report)
            if number > MAX_FILES:
                return
            if check_name(path, Place(path, 1, 1), report):
                yield path


def _text(folder: Path, path: str, report: Report) -> str | None:
    place = Place(path, 1, 1)
    try:
        target = (folder / path).resolve(strict=True)
        status = target.stat()
        if not S_ISREG(status.st_mode) or not target.is_relative_to(folder.resolve()):
            report.add(
                "R003", place, "this leads to something that is no file of this folder; put a plain file here"
            )
            return None
        return (
            _decoded(target.read_bytes(), place, report)
            if check_size(status.st_size, place, report)
            else None
        )
    except OSError as error:
        report.add("R001", place, f"{error.strerror or error}; make it readable")
        return None


def _decoded(content: bytes, place: Place, report: Report) -> str | None:
    try:
        return content.decode()
    except UnicodeDecodeError as error:
        before = content[: error.start].decode()
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        told = f"the byte 0x{content[error.start]:02x} is not UTF-8; save the file as UTF-8"
        report.add("R004", Place(place.file, line, column), told)
        return None
