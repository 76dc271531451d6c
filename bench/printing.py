"""Tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def heading(text: str) -> None:
    print(f"\n{text}\n{'=' * len(text)}")


def table(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """The first column to the left, the others to the right, as wide as they need to be."""
    cells = [[str(cell) for cell in row] for row in (columns, *rows)]
    widths = [max(len(row[number]) for row in cells) for number in range(len(columns))]
    for row in cells:
        first, *others = (
            cell.rjust(width) if number else cell.ljust(width)
            for number, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        print("  ".join((first, *others)).rstrip())


def per_cent(part: float, whole: float) -> str:
    """`part` of `whole`; a dash where there is no whole."""
    return f"{100 * part / whole:.0f} %" if whole else "-"
