"""A procedure as the document that is kept and answered."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from planning.model import Procedure
from rules.conditions import Value
from rules.intake import Assumption
from rules.pack import Pack, Substrate
from schemas.figures import plain, plain_values
from schemas.line_item.body import Body
from schemas.procedure.cautions import caution_document
from schemas.procedure.costs import cost_document
from schemas.procedure.emissions import emissions_document
from schemas.procedure.materials import material_document, pick_list_document
from schemas.procedure.place import place_document
from schemas.procedure.stages import stage_document
from schemas.procedure.timing import timeline_document, totals_document

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
        "cautions": [caution_document(asked) for asked in procedure.cautions],
        "stages": [stage_document(stage) for stage in procedure.stages],
        "timeline": timeline_document(procedure.timeline),
        "totals": totals_document(procedure.totals),
        "materials": [material_document(need) for need in procedure.materials],
        "pick_list": pick_list_document(procedure.pick_list),
        "emissions": emissions_document(procedure.emissions),
        "cost": cost_document(procedure.cost) if procedure.cost else None,
        "place": place_document(procedure.place) if procedure.place else None,
    }
    identifier = identifier_of(content)
    return {"id": identifier, **content, "links": links_of(identifier)}


def identifier_of(document: Mapping[str, Any]) -> str:
    """`pr-` and the first 32 hexadecimal digits of the SHA-256 of the content.

    The content is the document without `id`, `links` and `dry_run`, as JSON with sorted members, no
    blanks, UTF-8.
    """
    content = {name: value for name, value in document.items() if name not in ("id", "links", "dry_run")}
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
