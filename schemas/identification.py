"""An identification as the document that is answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planning.extra import Extra
from rules.decision import Decision
from rules.materials.identification.choosing import Choice, Stop
from rules.materials.identification.identify import Candidate, Group, Identification
from rules.materials.identification.model import Range, Seen, Tables
from rules.materials.resolve import UNKNOWN
from rules.pack import Disposition, Pack
from schemas.catalogue import caution_declared
from schemas.figures import plain, tenth
from schemas.procedure.document import Document, pack_named

LEAST_SHOWN = 0.0005

_STOPS = {
    Stop.SETTLED: "What matters to the procedure is settled.",
    Stop.NO_TEST_LEFT: "No test is left that may be done on this part.",
    Stop.NOTHING_TO_GAIN: "What is still open, the tests left would hardly ever settle.",
}

_CAUTIOUS = (
    "While the candidates lead to different procedures, name the material as `unknown`: its procedure is the"
    " cautious one, which treats the part as what harms it least whichever it is."
)


@dataclass(frozen=True)
class Doubt:
    """What it costs to go by the cautious procedure rather than by that of the likeliest material."""

    against: str
    disposition: Disposition
    disposition_against: Disposition
    extra: Extra


def identification_of(
    found: Identification,
    pack: Pack,
    tables: Tables,
    decisions: Mapping[str, Decision] | None,
    doubt: Doubt | None,
) -> Document:
    """The JSON-ready answer. `decisions` by material and `doubt` are None while no line item is known."""
    return {
        "pack": pack_named(pack),
        "part": found.prior_part,
        "candidates": [_candidate(one) for one in found.candidates if one.probability >= LEAST_SHOWN],
        "groups": [_group(one, decisions) for one in found.groups if one.probability >= LEAST_SHOWN],
        "procedure_differs": found.differs,
        "agreed": {fact: _seen(value) for fact, value in found.agreed.items()},
        "open": {fact: _held(values) for fact, values in found.open.items()},
        "next_test": _next_test(found.next_test, tables) if found.next_test else None,
        "stops": {"reason": found.stops.value, "says": _STOPS[found.stops]} if found.stops else None,
        "cautious": _cautious(doubt) if found.differs and UNKNOWN in pack.substrates else None,
        "never": [{"test": one.test, "why": one.why} for one in tables.never],
        "cautions": [caution_declared(pack.cautions[name]) for name in found.cautions],
        "notes": list(found.notes),
    }


def _candidate(candidate: Candidate) -> Document:
    return {
        "material": candidate.material,
        "name": candidate.name,
        "probability": _probability(candidate.probability),
        "evidence": list(candidate.evidence),
    }


def _group(group: Group, decisions: Mapping[str, Decision] | None) -> Document:
    return {
        "materials": list(group.materials),
        "probability": _probability(group.probability),
        "disposition": decisions[group.materials[0]].disposition.value if decisions else None,
    }


def _held(values: Mapping[Seen, float]) -> list[Document]:
    ranked = sorted(values.items(), key=lambda held: -held[1])
    return [
        {"value": _seen(value), "probability": _probability(probability)}
        for value, probability in ranked
        if probability >= LEAST_SHOWN
    ]


def _seen(value: Seen) -> Any:
    if isinstance(value, Range):
        return {"at_least": plain(value.at_least), "below": plain(value.below)}
    return plain(value)


def _next_test(choice: Choice, tables: Tables) -> Document:
    test = tables.tests[choice.test]
    return {
        "test": test.id,
        "question": test.question,
        "how": list(test.how),
        "safety": test.safety,
        "results": [{"result": result, "meaning": meaning} for result, meaning in test.results.items()],
        "about": choice.about,
        "expected_bits": round(choice.gain_bits, 3),
        "cautions": list(test.cautions),
    }


def _cautious(doubt: Doubt | None) -> Document:
    return {"material": UNKNOWN, "says": _CAUTIOUS, "cost": _cost(doubt) if doubt else None}


def _cost(doubt: Doubt) -> Document:
    return {
        "against": doubt.against,
        "disposition": doubt.disposition.value,
        "disposition_against": doubt.disposition_against.value,
        "stages_added": list(doubt.extra.stages_added),
        "stages_left_out": list(doubt.extra.stages_left_out),
        "work_min": tenth(doubt.extra.work_min),
        "elapsed_min": tenth(doubt.extra.elapsed_min),
    }


def _probability(value: float) -> float:
    return round(value, 4)
