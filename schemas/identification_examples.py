"""Bodies to try an identification with. The parts, the results and the damage are invented."""

from __future__ import annotations

from typing import Any

MARKED: dict[str, Any] = {"marking": ">PP+EPDM-T20<"}

TESTED: dict[str, Any] = {
    "tests": {"sanding": "smears", "float": "floats", "flex": "flexible"},
    "part": {"name": "front bumper cover"},
}

FOR_A_LINE_ITEM: dict[str, Any] = {
    "tests": {"sanding": "smears"},
    "part": {"name": "radiator grille", "condition": "factory_finish", "features": []},
    "damage": {"type": "crack", "length_mm": 80, "through": True, "backside_access": True},
    "place": {"forced_dry": "booth_bake"},
}

IDENTIFICATIONS = {
    "marked": {"summary": "A marking moulded into the part", "value": MARKED},
    "tested": {"summary": "Bench tests of a bumper cover", "value": TESTED},
    "for_a_line_item": {
        "summary": "A test, and what is to be done: only what matters to that is asked",
        "value": FOR_A_LINE_ITEM,
    },
}
