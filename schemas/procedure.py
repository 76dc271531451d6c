"""A procedure as the document that is kept and answered."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from planning.model import (
    AskedCaution,
    Cost,
    Emissions,
    MaterialNeed,
    PlaceReport,
    PlannedStage,
    Procedure,
    StageWindow,
    TimedStage,
    Timeline,
    Totals,
)
from rules.conditions import Value
from rules.intake import Assumption
from rules.pack import Pack, Substrate
from schemas.figures import decimal, moment, plain, plain_values, quantiles, tenth
from schemas.line_item import Body

Document = dict[str, Any]


def document_of(
    procedure: Procedure,
    line_item: Body,
    pack: Pack,
    substrate: Substrate,
    facts: Mapping[str, Value],
    material_notes: Sequence[str] = (),
) -> Document:
    """The JSON-ready answer to `line_item`, a loaded request body.

    `facts` are the complete facts: two line items that differ in any of them get different ids.
    `material_notes` say how the row of the substrate table was chosen.
    """
    content = {
        "line_item": _line_item(line_item),
        "part": {"name": line_item["part"]["name"], "material": line_item["part"]["material"]},
        "material": {
            "symbol": substrate.symbol,
            "name": substrate.name,
            "notes": [*material_notes, *substrate.notes],
        },
        "pack": pack_named(pack),
        "facts": plain_values(facts),
        "disposition": procedure.disposition.value,
        "reasons": [asdict(reason) for reason in procedure.reasons],
        "assumptions": [_assumption(assumption) for assumption in procedure.assumptions],
        "cautions": [_caution(asked) for asked in procedure.cautions],
        "stages": [_stage(stage) for stage in procedure.stages],
        "timeline": _timeline(procedure.timeline),
        "totals": _totals(procedure.totals),
        "materials": [_material(need) for need in procedure.materials],
        "emissions": _emissions(procedure.emissions),
        "cost": _cost(procedure.cost) if procedure.cost else None,
        "place": _place(procedure.place) if procedure.place else None,
    }
    identifier = identifier_of(content)
    return {"id": identifier, **content, "links": links_of(identifier)}


def identifier_of(document: Mapping[str, Any]) -> str:
    """`pr-` and the first 32 hexadecimal digits of the SHA-256 of the content.

    The content is the document without `id` and `links`, as JSON with sorted members, no blanks, UTF-8.
    """
    content = {name: value for name, value in document.items() if name not in ("id", "links")}
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return "pr-" + hashlib.sha256(text.encode()).hexdigest()[:32]


def is_identifier(text: str) -> bool:
    """Whether `text` has the form of what `identifier_of` gives."""
    return re.fullmatch(r"pr-[0-9a-f]{32}", text) is not None


def links_of(identifier: str) -> dict[str, str]:
    """Where the procedure and what belongs to it are read."""
    place = f"/v1/procedures/{identifier}"
    return {"self": place, "timeline": f"{place}/timeline", "explanation": f"{place}/explanation"}


def pack_named(pack: Pack) -> dict[str, str]:
    """Which rule pack an answer rests on."""
    return {"name": pack.name, "version": pack.version, "digest": pack.digest}


def timeline_answer(document: Mapping[str, Any]) -> Document:
    """The timeline of a kept procedure as an answer of its own."""
    return {
        "procedure": document["id"],
        "line_item": document["line_item"],
        "pack": document["pack"],
        **document["timeline"],
    }


def _line_item(body: Body) -> dict[str, Any]:
    line_item = body["line_item"]
    return {"reference": line_item["reference"], "description": line_item.get("description")}


def _assumption(assumption: Assumption) -> Document:
    return {"fact": assumption.fact, "value": plain(assumption.value), "pointer": assumption.given_as}


def _caution(asked: AskedCaution) -> Document:
    caution = asked.caution
    return {
        "caution": caution.id,
        "title": caution.title,
        "signal": caution.signal,
        "hazard": caution.hazard,
        "protect": caution.protect,
        "first_measure": caution.first_measure,
        "defer": caution.defer,
        "ghs": list(caution.ghs),
        "stages": list(asked.stages),
        "because": list(asked.because),
    }


def _stage(stage: PlannedStage) -> Document:
    return {
        "position": stage.position,
        "stage": stage.stage,
        "title": stage.title,
        "phase": stage.phase,
        "instructions": list(stage.instructions),
        "resource": stage.resource,
        "labour": stage.labour,
        "work_min": quantiles(stage.work_min),
        "wait_min": tenth(stage.wait_min),
        "wait_note": stage.wait_note,
        "window": _window(stage.window) if stage.window else None,
        "abrasive": stage.abrasive,
        "coats": stage.coats,
        "parameters": plain_values(stage.parameters),
        "materials": list(stage.materials),
        "check": asdict(stage.check) if stage.check else None,
        "cautions": list(stage.cautions),
        "because": list(stage.because),
    }


def _window(window: StageWindow) -> Document:
    latest = window.not_after_min
    return {
        "after": window.after,
        "not_before_min": tenth(window.not_before_min),
        "not_after_min": None if latest is None else tenth(latest),
        "if_missed": window.if_missed,
    }


def _timeline(timeline: Timeline) -> Document:
    return {
        "start_at": moment(timeline.start_at),
        "finish_at": moment(timeline.finish_at),
        "elapsed_min": tenth(timeline.elapsed_min),
        "stages": [_timed(stage) for stage in timeline.stages],
    }


def _timed(stage: TimedStage) -> Document:
    return {name: tenth(value) if name.endswith("_min") else value for name, value in asdict(stage).items()}


def _totals(totals: Totals) -> Document:
    return {
        "labour_hours": {category: tenth(hours) for category, hours in totals.labour_hours.items()},
        "elapsed_min": quantiles(totals.elapsed_min),
        "work_min": quantiles(totals.work_min),
    }


def _material(need: MaterialNeed) -> Document:
    return {**asdict(need), "stages": list(need.stages), "quantity_ml": decimal(need.quantity_ml)}


def _emissions(emissions: Emissions) -> Document:
    return {**asdict(emissions), "voc_total_g": decimal(emissions.voc_total_g)}


def _cost(cost: Cost) -> Document:
    return {
        "currency": cost.currency,
        "labour": {category: decimal(amount) for category, amount in cost.labour.items()},
        "labour_total": decimal(cost.labour_total),
        "replacement_part": decimal(cost.replacement_part),
        "replacement_lead_days": cost.replacement_lead_days,
        "not_included": list(cost.not_included),
    }


def _place(place: PlaceReport) -> Document:
    margin = place.surface_margin_k
    return {
        "stages": list(place.stages),
        "dew_point_c": tenth(place.dew_point_c),
        "surface_margin_k": None if margin is None else tenth(margin),
        "warning": place.warning,
    }
