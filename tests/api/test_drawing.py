from collections.abc import Mapping
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.drawing import timeline_svg
from api.drawing.axis import axis_of
from api.drawing.times import Clock, duration

SVG = "{http://www.w3.org/2000/svg}"


def procedure(
    spans: list[tuple[float, float]],
    windows: Mapping[int, tuple[int, float, float | None]] | None = None,
    title: str = "Apply primer",
    start_at: str | None = None,
) -> dict[str, Any]:
    """A wire document: `spans` are (work, wait) of stages in sequence, `windows` by position."""
    stages: list[dict[str, Any]] = []
    timed: list[dict[str, Any]] = []
    now = 0.0
    for position, (work, wait) in enumerate(spans, start=1):
        times = {"earliest_start_min": now, "work_end_min": now + work, "ready_min": now + work + wait}
        timed.append({"position": position, "stage": f"stage-{position}", **times})
        window = None
        if windows and position in windows:
            after, opens, closes = windows[position]
            limits = {"not_before_min": opens, "not_after_min": closes, "if_missed": None}
            window = {"after": f"stage-{after}", **limits}
        stages.append({"position": position, "stage": f"stage-{position}", "title": title, "window": window})
        now += work + wait
    quantiles = {"p50": now, "p80": now, "p95": now}
    return {
        "id": "pr-" + "0" * 32,
        "line_item": {"reference": "RO-20417-3"},
        "part": {"name": "grille"},
        "pack": {"name": "base", "version": "1.0.0"},
        "disposition": "repair" if spans else "refer",
        "stages": stages,
        "timeline": {"start_at": start_at, "elapsed_min": now, "stages": timed},
        "totals": {"elapsed_min": quantiles, "work_min": quantiles},
    }


def drawn(document: Mapping[str, Any]) -> ElementTree.Element:
    return ElementTree.fromstring(timeline_svg(document))


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if element.get("class") == name]


def words(root: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def test_there_is_one_row_a_stage_in_order() -> None:
    root = drawn(procedure([(6, 10)] * 28))
    names = [row.findtext(f"{SVG}title") for row in of_class(root, "stage")]
    assert names == [f"{position}. Apply primer" for position in range(1, 29)]


def test_each_stage_has_a_bar_for_work_and_one_for_waiting_when_it_waits() -> None:
    with_wait, without = of_class(drawn(procedure([(6, 10), (5, 0)])), "stage")
    assert [rect.get("class") for rect in with_wait.iter(f"{SVG}rect")] == ["wait", "work"]
    assert [rect.get("class") for rect in without.iter(f"{SVG}rect")] == ["work"]


def test_a_window_is_drawn_from_the_end_of_the_earlier_stage_with_its_minutes() -> None:
    root = drawn(procedure([(6, 10), (5, 0), (5, 0)], {2: (1, 10, 30), 3: (1, 15, None)}))
    rows = of_class(root, "stage")
    assert [len(of_class(row, "window")) for row in rows] == [0, 1, 1]
    assert "10 min to 30 min after 1" in words(root)
    assert "15 min or more after 1" in words(root)
    start_of_dots = of_class(rows[1], "window")[0][0].get("d", "").split()[0]
    end_of_work = of_class(rows[0], "work")[0]
    right = float(end_of_work.get("x", 0)) + float(end_of_work.get("width", 0))
    assert float(start_of_dots.removeprefix("M")) == pytest.approx(right, abs=0.02)


def test_a_long_wait_is_broken_so_that_short_work_stays_visible() -> None:
    root = drawn(procedure([(6, 480), (6, 0), (6, 960), (6, 0)]))
    assert [mark.findtext(f"{SVG}title") for mark in of_class(root, "break")] == [
        "8 h without work, drawn shorter",
        "16 h without work, drawn shorter",
    ]
    for row in of_class(root, "stage"):
        assert float(of_class(row, "work")[0].get("width", 0)) >= 15


def test_a_short_wait_is_drawn_to_scale() -> None:
    assert not of_class(drawn(procedure([(20, 15), (20, 10)])), "break")


def test_text_from_outside_is_escaped_and_control_characters_are_replaced() -> None:
    document = procedure([(6, 0)], title='<script>alert("1")</script> & \x00\x1b')
    document["line_item"]["reference"] = "]]><RO&\ud800>"
    svg = timeline_svg(document)
    assert "<script" not in svg
    root = ElementTree.fromstring(svg)
    assert root.findtext(f"{SVG}title") == "Timeline of ]]><RO&\ufffd>: grille"
    assert (
        of_class(root, "stage")[0].findtext(f"{SVG}title") == '1. <script>alert("1")</script> & \ufffd\ufffd'
    )


def test_a_reader_that_cannot_see_is_told_what_it_is() -> None:
    root = drawn(procedure([(6, 10), (60, 0)]))
    assert root.get("role") == "img"
    labels = (root.get("aria-labelledby") or "").split()
    told = {element.get("id"): element.text for element in root.iter() if element.get("id")}
    assert told[labels[0]] == "Timeline of RO-20417-3: grille"
    assert (told[labels[1]] or "").startswith("2 stages. Start to finish 1 h 16 min")


def test_nothing_is_loaded_from_outside() -> None:
    svg = timeline_svg(procedure([(6, 480), (6, 0)], {2: (1, 10, 30)}))
    assert svg.count("http") == 1  # the name of the SVG namespace
    assert not any(mark in svg for mark in ("href", "url(", "<script", "<style", "@import"))


def test_times_are_on_the_clock_when_the_start_is_known() -> None:
    root = drawn(procedure([(30, 960), (15, 0)], start_at="2027-03-02T08:15:00-06:00"))
    texts = words(root)
    assert "08:15" in texts
    assert "00:45" in texts
    assert [text for text in texts if text.startswith(("Tue", "Wed"))] == ["Tue 2 Mar", "Wed 3 Mar"]


def test_without_a_start_times_count_from_zero() -> None:
    texts = words(drawn(procedure([(30, 960), (15, 0)])))
    assert "0:00" in texts
    assert "16:30" in texts


def test_a_part_without_stages_gets_words_instead() -> None:
    assert "No stages: the disposition is refer." in words(drawn(procedure([])))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.1, 90), st.floats(0, 5000)), min_size=1, max_size=30),
    st.floats(0, 1439),
)
def test_the_axis_keeps_time_in_order_and_labels_apart(
    spans: list[tuple[float, float]], offset: float
) -> None:
    work: list[tuple[float, float]] = []
    now = 0.0
    for worked, waited in spans:
        work.append((now, now + worked))
        now += worked + waited
    axis = axis_of(work, now)
    places = [axis.x(minute) for span in work for minute in span]
    assert places == sorted(places)
    assert axis.x(0.0) == 0.0
    assert axis.x(now) == axis.width_px
    ticks = axis.ticks(offset)
    assert ticks[0] == 0.0
    assert ticks[-1] == now
    gaps = [axis.x(later) - axis.x(tick) for tick, later in pairwise(ticks)]
    assert all(gap >= 42 for gap in gaps)
    for piece in axis.breaks:
        assert not any(start < piece.to_min and piece.from_min < end for start, end in work)


def test_closed_hours_are_grey_columns_and_what_is_put_off_is_told() -> None:
    document = procedure([(30, 0), (30, 0)], start_at="2027-03-02T16:00:00-06:00")
    told = "Apply primer is put off from 16:30 to 07:30 on Wed 3 Mar: the shop is closed."
    document["timeline"] |= {
        "time_zone": "America/Chicago",
        "closed": [{"from_min": 40, "until_min": 50}],
        "put_off": [{"stage": "stage-2", "told": told}],
    }
    root = drawn(document)
    column, key = of_class(root, "closed")
    assert (column[0].text, key.tag) == ("closed 16:40 to 16:50", f"{SVG}rect")
    assert float(column.get("width", "0")) > 0
    assert [stage[0].text for stage in of_class(root, "stage")] == [
        "1. Apply primer",
        f"2. Apply primer. {told}",
    ]
    assert "closed" in words(root)


def test_the_clock_of_the_calendar_labels_the_axis() -> None:
    document = procedure([(30, 0)], start_at="2027-03-02T16:00:00+00:00")
    document["timeline"]["time_zone"] = "America/Chicago"
    assert "10:00" in words(drawn(document))


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(0, "0 min"), (0.2, "<1 min"), (59.6, "1 h"), (35, "35 min"), (65, "1 h 05 min"), (480, "8 h")],
)
def test_durations_in_words(minutes: float, said: str) -> None:
    assert duration(minutes) == said


def test_a_clock_rounds_to_the_minute_and_carries_over() -> None:
    assert Clock(None).time(119.6) == "2:00"
