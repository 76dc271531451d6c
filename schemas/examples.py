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

PRICED: dict[str, Any] = {
    "line_item": {"reference": "RO-20418-1", "description": "bumper cover, gouge at the corner"},
    "part": {
        "name": "rear bumper cover",
        "material": ">PP+EPDM-T20<",
        "condition": "factory_finish",
        "area_m2": 1.1,
        "features": ["parking_sensor_zone"],
    },
    "damage": {"type": "gouge", "length_mm": 80, "depth_mm": 2},
    "finish": {"topcoat": "basecoat_clearcoat"},
    "rates": {
        "currency": "USD",
        "labour_per_hour": {"body": "62.00", "refinish": "62.00"},
        "materials": {
            "abrasive-disc": {"price": "0.90", "per": "piece"},
            "abrasive-sheet": {"price": "1.10", "per": "piece"},
            "flexible-filler": {"price": "21.50", "per": "package", "package_ml": 200},
            "primer-surfacer": {"price": "48.00", "per": "litre"},
            "basecoat": {"price": "95.00", "per": "litre"},
            "clearcoat": {"price": "72.00", "per": "litre"},
        },
        "materials_charged": "used",
        "replacement_part": "240.00",
        "replacement_lead_days": 3,
        "replacement_fit_hours": {"body": 1.4},
        "replacement_supplied_as": "primed",
        "replacement_disposal": "8.00",
        "repair_fit_hours": {"body": 1.4},
        "sensor_calibration": {"parking_sensor_zone": "45.00"},
    },
}

_WEEKDAYS = ["monday", "tuesday", "wednesday", "thursday", "friday"]

SCHEDULED: dict[str, Any] = {
    **FULL,
    "start_at": "2027-03-02T15:30:00-06:00",
    "calendar": {
        "time_zone": "America/Chicago",
        "hours": [
            {"days": _WEEKDAYS, "from": "07:30", "until": "12:00"},
            {"days": _WEEKDAYS, "from": "12:30", "until": "17:00"},
        ],
        "closed": ["2027-03-05"],
    },
}

LINE_ITEMS = {
    "minimal": {"summary": "The smallest useful line item", "value": MINIMAL},
    "full": {"summary": "A full line item", "value": FULL},
    "scheduled": {"summary": "A line item in a shop with opening hours", "value": SCHEDULED},
    "priced": {"summary": "A repair to be weighed against a new part", "value": PRICED},
}
