"""The timeline of a procedure: one row a stage, work and waiting as bars, windows as brackets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from api.drawing.axis import Axis, Piece, axis_of
from api.drawing.rows import Row, Window, rows_of
from api.drawing.svg import Element, add, canvas, named, text_of, write
from api.drawing.times import Clock, duration

_MUTED, _RULE, _BAND, _WHITE, _CLOSED = "#4d5661", "#c9ced6", "#f3f5f7", "#ffffff", "#dde1e7"
_WORK, _WAIT, _WAIT_EDGE, _WINDOW = "#0b5351", "#f6e3b4", "#7a5c12", "#8a1c4a"

_POSITION_X, _TITLE_X, _START_X, _WORK_X, _WAIT_X, _CHART_X = 34.0, 42.0, 452.0, 520.0, 606.0, 648.0
_MARGIN, _ROW, _TOP, _FOOT, _LEGEND_WIDTH = 16.0, 30.0, 112.0, 64.0, 1000.0
_TITLE_LETTERS = 54
_WORDS_PX = 165.0


@dataclass(frozen=True)
class Sheet:
    """What every part of the drawing needs: where to draw, and how time maps to places."""

    root: Element
    axis: Axis
    clock: Clock
    rows: Sequence[Row]

    @property
    def bottom(self) -> float:
        return _TOP + len(self.rows) * _ROW

    def x(self, minute: float) -> float:
        return _CHART_X + self.axis.x(minute)


def timeline_svg(document: Mapping[str, Any]) -> str:
    """The timeline of a procedure, from its wire document, as one SVG element."""
    rows = rows_of(document)
    title = f"Timeline of {document['line_item']['reference']}: {document['part']['name']}"
    if not rows:
        return _without_stages(title, document["disposition"])
    end_min = max(document["timeline"]["elapsed_min"], *(row.ready_min for row in rows), 1.0)
    axis = axis_of([(row.start_min, row.work_end_min) for row in rows], end_min)
    width = max(_CHART_X + axis.width_px + 3 * _MARGIN, _LEGEND_WIDTH)
    total = _total_in_words(document)
    root = canvas(width, _TOP + len(rows) * _ROW + _FOOT, title, f"{len(rows)} stages. {total}.")
    sheet = Sheet(root, axis, _clock(document), rows)
    _draw_head(sheet, title, total)
    _draw_bands(sheet, width - _MARGIN)
    _draw_closed(sheet, document)
    _draw_axis(sheet)
    _draw_rows(sheet)
    _draw_legend(sheet, document)
    return text_of(root)


def _clock(document: Mapping[str, Any]) -> Clock:
    start_at, zone = document["timeline"]["start_at"], document["timeline"].get("time_zone")
    return Clock(None if start_at is None else datetime.fromisoformat(start_at), zone and ZoneInfo(zone))


def _total_in_words(document: Mapping[str, Any]) -> str:
    totals, timeline = document["totals"], document["timeline"]
    return (
        f"Start to finish {duration(timeline['elapsed_min'])} at median durations, "
        f"80 % of jobs within {duration(totals['elapsed_min']['p80'])}; "
        f"hands-on work {duration(totals['work_min']['p50'])}"
    )


def _without_stages(title: str, disposition: str) -> str:
    words = f"No stages: the disposition is {disposition}."
    root = canvas(640, 84, title, words)
    write(root, _MARGIN, 34, title, font_size=17, font_weight="bold")
    write(root, _MARGIN, 60, words, fill=_MUTED)
    return text_of(root)


def _draw_head(sheet: Sheet, title: str, total: str) -> None:
    write(sheet.root, _MARGIN, 32, title, font_size=17, font_weight="bold")
    write(sheet.root, _MARGIN, 54, total, font_size=13, fill=_MUTED)
    write(sheet.root, _TITLE_X, _TOP - 10, "Stage", font_weight="bold")
    for x, words in ((_START_X, "Start"), (_WORK_X, "Work"), (_WAIT_X, "Wait")):
        write(sheet.root, x, _TOP - 10, words, font_weight="bold", text_anchor="end")


def _draw_bands(sheet: Sheet, width: float) -> None:
    for number in range(0, len(sheet.rows), 2):
        y = _TOP + number * _ROW
        add(sheet.root, "rect", x=_MARGIN / 2, y=y, width=width, height=_ROW, fill=_BAND)


def _draw_closed(sheet: Sheet, document: Mapping[str, Any]) -> None:
    """A grey column where the shop is closed. Procedures of an earlier version know of no opening hours."""
    for closed in document["timeline"].get("closed", ()):
        left, right = sheet.x(closed["from_min"]), sheet.x(closed["until_min"])
        column = add(
            sheet.root, "rect", class_="closed", x=left, y=_TOP, width=right - left, fill=_CLOSED,
            height=sheet.bottom - _TOP,
        )  # fmt: skip
        named(
            column,
            f"closed {sheet.clock.time(closed['from_min'])} to {sheet.clock.time(closed['until_min'])}",
        )


def _draw_axis(sheet: Sheet) -> None:
    day = None
    group = add(sheet.root, "g", class_="axis")
    for minute in sheet.axis.ticks(sheet.clock.offset_min):
        x = sheet.x(minute)
        add(group, "line", x1=x, x2=x, y1=_TOP - 5, y2=sheet.bottom, stroke=_RULE)
        write(group, x, _TOP - 10, sheet.clock.time(minute), font_size=11, text_anchor="middle")
        if sheet.clock.day(minute) != day:
            day = sheet.clock.day(minute)
            write(group, x, _TOP - 25, day or "", font_size=11, font_weight="bold", text_anchor="middle")


def _draw_rows(sheet: Sheet) -> None:
    """Breaks cut through the bars of every row; the words of windows stand on top of all."""
    for number, row in enumerate(sheet.rows):
        _draw_row(sheet, row, _TOP + number * _ROW)
    for piece in sheet.axis.breaks:
        _draw_break(sheet, piece)
    for number, row in enumerate(sheet.rows):
        if row.window is not None:
            _write_window(sheet, row, row.window, _TOP + number * _ROW + 15)


def _draw_row(sheet: Sheet, row: Row, y: float) -> None:
    group = add(sheet.root, "g", class_="stage")
    named(group, ". ".join([f"{row.position}. {row.title}", *row.put_off]))
    base = y + _ROW / 2 + 4
    write(group, _POSITION_X, base, str(row.position), fill=_MUTED, text_anchor="end")
    write(group, _TITLE_X, base, _shortened(row.title), font_size=13)
    write(group, _START_X, base, sheet.clock.time(row.start_min), text_anchor="end")
    write(group, _WORK_X, base, duration(row.work_end_min - row.start_min), text_anchor="end")
    if row.ready_min > row.work_end_min:
        write(group, _WAIT_X, base, duration(row.ready_min - row.work_end_min), text_anchor="end")
        _draw_wait(group, sheet.x(row.work_end_min), sheet.x(row.ready_min), y + 5)
    _draw_work(group, sheet.x(row.start_min), sheet.x(row.work_end_min), y + 5)
    if row.window is not None:
        _draw_window(sheet, group, row.window, y + _ROW - 6)


def _draw_work(group: Element, left: float, right: float, y: float) -> None:
    width = max(right - left, 2.0)
    add(group, "rect", class_="work", x=left, y=y, width=width, height=12, fill=_WORK)


def _draw_wait(group: Element, left: float, right: float, y: float) -> None:
    width = right - left
    add(group, "rect", class_="wait", x=left, y=y, width=width, height=12, fill=_WAIT, stroke=_WAIT_EDGE)


def _draw_window(sheet: Sheet, group: Element, window: Window, y: float) -> None:
    end_min = sheet.axis.end_min
    closes = end_min if window.closes_min is None else window.closes_min
    places = sheet.x(window.from_min), sheet.x(window.opens_min), sheet.x(closes)
    _draw_bracket(group, places, y, closed=window.closes_min is not None and closes <= end_min)


def _draw_bracket(group: Element, places: tuple[float, float, float], y: float, closed: bool) -> None:
    """Dotted until the window opens, solid while it is open; an arrow where it closes off the sheet."""
    left, opens, right = places
    bracket = add(group, "g", class_="window", stroke=_WINDOW, fill="none")
    add(bracket, "path", d=f"M{left:.2f} {y - 3:.2f}v6m0 -3H{opens:.2f}", stroke_dasharray="2 2")
    add(bracket, "path", d=f"M{opens:.2f} {y - 3:.2f}v6m0 -3H{right:.2f}", stroke_width=2)
    end = "m0 -4v8" if closed else "m-5 -4l5 4l-5 4"
    add(bracket, "path", d=f"M{right:.2f} {y:.2f}{end}", stroke_width=2)


def _write_window(sheet: Sheet, row: Row, window: Window, y: float) -> None:
    """Beside the row's bars: behind them where there is room, else before them."""
    right = sheet.x(row.ready_min)
    fits = right + _WORDS_PX < _CHART_X + sheet.axis.width_px
    x, anchor = (right + 7, "start") if fits else (sheet.x(row.start_min) - 7, "end")
    halo = {"stroke": _WHITE, "stroke_width": "3", "paint_order": "stroke"}
    write(sheet.root, x, y, window.words, font_size=11, fill=_WINDOW, text_anchor=anchor, **halo)


def _draw_break(sheet: Sheet, piece: Piece) -> None:
    """Two ragged lines across all rows with white between them: here the axis is cut short."""
    middle = sheet.x((piece.from_min + piece.to_min) / 2)
    left, right = _ragged(middle - 4, sheet.bottom), _ragged(middle + 4, sheet.bottom)
    group = add(sheet.root, "g", class_="break")
    named(group, f"{duration(piece.to_min - piece.from_min)} without work, drawn shorter")
    add(group, "polygon", points=" ".join(left + right[::-1]), fill=_WHITE)
    for side in (left, right):
        add(group, "polyline", points=" ".join(side), fill="none", stroke=_MUTED)


def _ragged(x: float, bottom: float) -> list[str]:
    count = int((bottom - _TOP) / 10) + 1
    return [f"{x + (2.5 if number % 2 else -2.5):.2f},{_TOP + number * 10:.0f}" for number in range(count)]


def _draw_legend(sheet: Sheet, document: Mapping[str, Any]) -> None:
    group = add(sheet.root, "g", class_="legend")
    x, y = _TITLE_X, sheet.bottom + 24
    _draw_work(group, x, x + 26, y - 10)
    write(group, x + 34, y, "work")
    _draw_wait(group, x + 92, x + 118, y - 10)
    write(group, x + 126, y, "wait until ready")
    _draw_bracket(group, (x + 246, x + 268, x + 296), y - 4, closed=True)
    write(group, x + 304, y, "window in which to start, after the end of the stage named")
    if sheet.axis.breaks:
        write(group, x + 690, y, "ragged gap: idle time, drawn shorter")
    if document["timeline"].get("closed"):
        add(
            group,
            "rect",
            class_="closed",
            x=x + 560,
            y=y + 13,
            width=26,
            height=12,
            fill=_CLOSED,
            stroke=_RULE,
        )
        write(group, x + 594, y + 24, "closed")
    pack = document["pack"]
    origin = f"{document['id']}, rule pack {pack['name']} {pack['version']}"
    write(group, x, y + 24, origin, font_size=11, fill=_MUTED)


def _shortened(title: str) -> str:
    return title if len(title) <= _TITLE_LETTERS else title[: _TITLE_LETTERS - 1].rstrip() + "…"
