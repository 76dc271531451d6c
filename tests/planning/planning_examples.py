"""Small invented packs, stages and decisions for the tests of planning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from hypothesis import strategies as st

from rules.decision import Decision, Reason, Setting
from rules.intake import CompleteFacts
from rules.pack import Caution, Disposition, Material, Pack, Stage, Substrate, Wait, Work
from rules.vocabulary import Vocabulary

PHASES = ("clean", "restore", "paint")

FACTS = {
    "area_m2": 1.0,
    "damage_length_mm": 100.0,
    "damage_count": 1.0,
    "air_temperature_c": 20.0,
    "surface_temperature_c": 20.0,
    "relative_humidity_pct": 50.0,
}


def make_stage(stage: str, *, minutes: float = 10.0, spread: float = 0.25, **rest: Any) -> Stage:
    """A stage of so many fixed minutes; any other member can be given by name."""
    members: dict[str, Any] = {
        "title": stage.title(),
        "phase": "clean",
        "resource": "bench",
        "labour": "body",
        "instructions": (),
        "work": Work(fixed_min=minutes, spread=spread),
        "wait": Wait(minutes=0.0),
        "source": "invented for a test",
    }
    return Stage(id=stage, **(members | rest))


def catalogue(*stages: Stage) -> dict[str, Stage]:
    return {stage.id: stage for stage in stages}


def make_caution(caution: str, signal: str = "warning") -> Caution:
    return Caution(
        caution, caution.title(), signal, "hazard", "protect", "first", "defer", "invented for a test"
    )


def make_pack(
    stages: Iterable[Stage], materials: Iterable[Material] = (), cautions: Iterable[Caution] = ()
) -> Pack:
    return Pack(
        name="invented",
        version="1.0.0",
        title="Invented for a test",
        digest="0" * 64,
        effective_from=date(2026, 1, 1),
        effective_until=None,
        vocabulary=Vocabulary({}),
        phases=PHASES,
        resources=("bench", "booth"),
        labour=("body", "refinish"),
        rules={},
        stages=catalogue(*stages),
        cautions={caution.id: caution for caution in cautions},
        materials={material.id: material for material in materials},
        substrates={},
        layers=(),
    )


def make_decision(
    stages: Iterable[str],
    settings: Mapping[tuple[str, str], str | bool | float] | None = None,
    cautions: Mapping[str, tuple[str, ...]] | None = None,
    disposition: Disposition = Disposition.REPAIR,
) -> Decision:
    """Every stage is asked for by a rule `need-<stage>`."""
    return Decision(
        disposition=disposition,
        reasons=(Reason("decide", "Invented for a test."),),
        derived={},
        stages={stage: (f"need-{stage}",) for stage in stages},
        settings={key: Setting(value, ("set",)) for key, value in (settings or {}).items()},
        cautions=cautions or {},
        fired=(),
    )


def make_substrate(**properties: str | bool | float) -> Substrate:
    return Substrate(symbol="XX", name="Invented plastic", properties=properties)


def facts_with(**changes: float) -> CompleteFacts:
    return CompleteFacts(FACTS | changes, ())


@st.composite
def acyclic_catalogues(draw: st.DrawFn, size: int = 7) -> dict[str, Stage]:
    """A catalogue without circles whose ids say nothing of its order."""
    ids = draw(st.permutations([f"stage-{letter}" for letter in "abcdefghij"[:size]]))
    stages = []
    for position, stage in enumerate(ids):
        earlier = tuple(draw(st.sets(st.sampled_from(ids[:position]), max_size=2))) if position else ()
        stages.append(make_stage(stage, after=earlier, phase=draw(st.sampled_from(PHASES))))
    return catalogue(*draw(st.permutations(stages)))
