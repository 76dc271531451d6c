"""Mixes and the pick list as a terminal shows them."""

from __future__ import annotations

from typing import Any

from api.demo.printing import WIDTH
from api.demo.supplies import mixes_in_text, pick_list_in_text


def part(title: str, parts: float, volume: str, mass: str, scale: str) -> dict[str, Any]:
    return {"title": title, "parts": parts, "volume_ml": volume, "mass_g": mass, "scale_g": scale}


PRIMER = {
    "title": "Primer",
    "quantity_ml": "600",
    "film": {"coats": 2, "dry_um": 40, "wet_um": 97.6},
    "recipe": {
        "parts": [
            part("Base", 4, "400.0", "600.0", "600.0"),
            part("Hardener", 1, "100.0", "110.0", "710.0"),
            part("Reducer", 1, "100.0", "90.0", "800.0"),
        ]
    },
}


def line(title: str, quantity: str | None = None, **more: Any) -> dict[str, Any]:
    return {"title": title, "quantity_ml": quantity, "packages": [], "pieces": [], "strips": []} | more


def test_a_mix_counts_up_on_the_scale() -> None:
    lines = list(mixes_in_text([{**PRIMER, "recipe": None}, PRIMER]))
    assert lines[2].strip() == "Primer, 600 ml, 2 x 97.6 µm wet"
    assert [each.split() for each in lines[3:]] == [
        ["Base", "4", "400.0", "ml", "600.0", "g", "600.0", "g"],
        ["Hardener", "1", "100.0", "ml", "110.0", "g", "710.0", "g"],
        ["Reducer", "1", "100.0", "ml", "90.0", "g", "800.0", "g"],
    ]
    assert list(mixes_in_text([{**PRIMER, "recipe": None}])) == []


def test_the_pick_list_says_what_to_take() -> None:
    lines = pick_list_in_text(
        [
            line("Filler", "62", packages=[{"size_ml": 50, "count": 2}]),
            line("Sheets", pieces=[{"count": 2, "grade": "P180"}, {"count": 1, "grade": None}]),
            line(
                "Mesh",
                strips=[
                    {"count": 1, "length_mm": 160, "width_mm": 80},
                    {"count": 2, "length_mm": 50, "width_mm": None},
                ],
            ),
            line("Colour", "222.5"),
            line("Masking"),
        ]
    )
    assert [" ".join(each.split()) for each in lines][2:] == [
        "Filler 62 ml 2 x 50 ml",
        "Sheets 2 P180, 1",
        "Mesh 1 of 160 x 80 mm, 2 of 50 mm",
        "Colour 222.5 ml",
        "Masking as needed",
    ]
    assert list(pick_list_in_text([])) == []


def test_no_line_is_wider_than_a_terminal() -> None:
    long = "A very long title of a thing " * 6
    wide = {**PRIMER, "recipe": {"parts": [part(long, 1.5, "12345.6", "12345.6", "12345.6")]}}
    assert max(map(len, mixes_in_text([wide]))) <= WIDTH
    assert max(map(len, pick_list_in_text([line(long, "12345")]))) <= WIDTH
