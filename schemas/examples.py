"""Line items to try the service with. The shop, the numbers and the damage are invented."""

from __future__ import annotations

from typing import Any

MINIMAL: dict[str, Any] = {
    "line_item": {"reference": "RO-20417-3"},
    "part": {"name": "front bumper cover", "material": "TPO", "condition": "factory_finish"},
    "damage": {"type": "crack", "length_mm": 80},
}

FULL: dict[str, Any] = {
    "line_item": {"reference": "RO-20417-3", "description": "bumper cover, crack below fog lamp"},
    "part": {
        "name": "front bumper cover",
        "material": ">PP+EPDM-T20<",
        "condition": "refinished",
        "supplied_as": None,
        "texture": "smooth",
        "area_m2": 1.1,
        "features": ["radar_zone"],
    },
    "damage": {
        "type": "crack",
        "length_mm": 80,
        "depth_mm": 3.2,
        "through": True,
        "backside_access": True,
        "count": 1,
    },
    "finish": {"topcoat": "basecoat_clearcoat"},
    "place": {
        "air_temperature_c": 20,
        "surface_temperature_c": 19,
        "relative_humidity_pct": 55,
        "forced_dry": "booth_bake",
    },
    "jurisdiction": "us-federal",
    "start_at": "2027-03-02T08:15:00-06:00",
    "rates": {
        "currency": "USD",
        "labour_per_hour": {"body": "62.00", "refinish": "62.00"},
        "replacement_part": "410.00",
        "replacement_lead_days": 3,
    },
}

LINE_ITEMS = {
    "minimal": {"summary": "The smallest useful line item", "value": MINIMAL},
    "full": {"summary": "A full line item", "value": FULL},
}
