"""How large a pack may be and how its files may be called, wherever they come from."""

from __future__ import annotations

import re
from collections.abc import Mapping

from rules.findings import printable
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.places import Place

MAX_FILE_BYTES = 512 * 1024
MAX_PACK_BYTES = 4 * 1024 * 1024
MAX_FILES = 200
MAX_THINGS = 2000
"""The longest list or mapping, and the most things of one kind."""

_PART = r"[A-Za-z0-9_-][A-Za-z0-9._-]*"
_NAME = re.compile(rf"(?:{_PART}/)*{_PART}\.yaml")
_LONGEST_PATH = 200


def within_bounds(files: Mapping[str, str], report: Report) -> bool:
    """Whether the files of one pack are few, small and well named enough to be read."""
    before = len(report.findings)
    total = 0
    check_number(len(files), Place("", 1, 1), report)
    for path in sorted(files)[:MAX_FILES]:
        place = Place(printable(path), 1, 1)
        # A lone surrogate has no UTF-8; the reading of the text tells where it is.
        size = len(files[path].encode(errors="surrogatepass"))
        total += size
        if check_name(path, place, report) and check_size(size, place, report) and total > MAX_PACK_BYTES:
            told = f"the pack is larger than {MAX_PACK_BYTES // 1024} KiB; take out what no rule needs"
            report.add("R002", place, told)
            break
    return len(report.findings) == before


def check_name(path: str, place: Place, report: Report) -> bool:
    """Whether a file of this name is read."""
    if len(path) <= _LONGEST_PATH and _NAME.fullmatch(path):
        return True
    told = f"a file called {quoted(path)} is not read"
    fix = "let its name be letters, digits, '-' and '_', and end in .yaml"
    report.add("R013", place, f"{told}; {fix}")
    return False


def check_size(size: int, place: Place, report: Report) -> bool:
    """Whether one file of `size` bytes is small enough."""
    if size <= MAX_FILE_BYTES:
        return True
    told = f"the file has {size // 1024} KiB, more than {MAX_FILE_BYTES // 1024}; split it in two"
    report.add("R002", place, told)
    return False


def check_number(number: int, place: Place, report: Report) -> None:
    """Report a pack of more files than are read."""
    if number > MAX_FILES:
        told = f"the pack has more than {MAX_FILES} files; put several things into one"
        report.add("R002", place, told)


def check_amount(sections: Mapping[str, Mapping[str, object]], place: Place, report: Report) -> None:
    """Report a stack with more things of one kind than are read."""
    for kind, things in sections.items():
        if len(things) > MAX_THINGS:
            told = f"there are {len(things)} of '{kind}', more than {MAX_THINGS}; take out what is not needed"
            report.add_gap("R002", place, told)
