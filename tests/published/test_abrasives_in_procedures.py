"""Abrasives and films in the procedures of the base pack, over plastics, finishes and damages of every kind.

Sizes and limits: `planning/data/abrasives.yaml`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

from plastics_data import base_pack

from planning.abrasives import film_to_hide_um, steps_too_far
from planning.order import ordered
from planning.parameters import number, parameters_of, text
from rules.decider import Decider
from rules.decision import Decision
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.pack import Substrate

# What an abrasive works on; what is not named here works on the spot that is repaired.
SURFACES = {
    "bond-test": "scrap",
    "grind-back": "back",
    "groove-front": "groove",
    "dress-tab": "tab",
    "abrade-new-part": "face",
    "scuff-primer": "face",
    "scuff-panel": "face",
}
SPOT_ALONE = ("primer-surfacer",)
"""A film on the repaired spot, not on the rest of the face."""

READ = ("abrasive", "coats")
"""The parameters that matter here."""

CLEAR = "clearcoat"
"""A film that hides nothing."""

PLASTICS = ("TPO", "PE-HD", "ABS", "PBT", "PUR", "UP-GF", "unknown")
FINISHES = (
    {"condition": "factory_finish"},
    {"condition": "refinished"},
    {"condition": "replacement", "supplied_as": "primed"},
    {"condition": "replacement", "supplied_as": "bare"},
)
TEXTURES = ({"texture": "smooth"}, {"texture": "grained"})
TOPCOATS = ({"topcoat": "basecoat_clearcoat"}, {"topcoat": "single_stage"}, {"topcoat": "texture_only"})
DAMAGES = (
    {"damage_type": "none"},
    {"damage_type": "coating_failure"},
    {"damage_type": "coating_failure", "radar_zone": True},
    {"damage_type": "warp"},
    {"damage_type": "scratch", "damage_length_mm": 80},
    {"damage_type": "scratch", "damage_length_mm": 80, "radar_zone": True},
    {"damage_type": "gouge", "damage_length_mm": 80},
    {"damage_type": "dent", "damage_length_mm": 80, "backside_access": True},
    {"damage_type": "crack", "damage_length_mm": 30, "backside_access": False},
    {"damage_type": "crack", "damage_length_mm": 80, "backside_access": True},
    {"damage_type": "puncture", "damage_length_mm": 30, "backside_access": True},
    {"damage_type": "broken_tab", "damage_length_mm": 20, "backside_access": True},
)


@dataclass(frozen=True)
class Work:
    """What a stage does to one surface: sands it, or makes a new one of it with films or filler."""

    abrasive: str | None = None
    film_um: float = 0.0
    fills: bool = False


@cache
def courses() -> frozenset[tuple[Work, ...]]:
    """The different courses of work on a spot or on the rest of a face."""
    pack = base_pack()
    decider = Decider(pack, ReferenceEngine(pack))
    found: dict[object, list[tuple[Work, ...]]] = {}
    for symbol, *given in product(PLASTICS, FINISHES, TEXTURES, TOPCOATS, DAMAGES):
        substrate = pack.substrates[symbol]
        facts = complete(pack, substrate, {name: value for part in given for name, value in part.items()})
        decision = decider.decide(facts.values)
        read = {key: setting.value for key, setting in decision.settings.items() if key[1] in READ}
        asked = (*decision.stages, *read.items())
        if asked not in found:
            found[asked] = [course(substrate, decision, surface) for surface in ("spot", "face")]
    return frozenset(steps for both in found.values() for steps in both)


def course(substrate: Substrate, decision: Decision, surface: str) -> tuple[Work, ...]:
    pack = base_pack()
    order = ordered(pack.stages, decision.stages, pack.phases)
    return tuple(work(name, substrate, decision, surface) for name in order)


def work(name: str, substrate: Substrate, decision: Decision, surface: str) -> Work:
    pack = base_pack()
    stage = pack.stages[name]
    parameters = parameters_of(stage, decision.settings, substrate.properties)
    materials = [pack.materials[material] for material in stage.materials]
    films_um = [material.film_um or 0.0 for material in materials if material.id != CLEAR]
    reached = surface == "spot" or name not in SPOT_ALONE
    return Work(
        abrasive=text(parameters, "abrasive") if SURFACES.get(name, "spot") == surface else None,
        film_um=sum(films_um) * (number(parameters, "coats") or 1) * reached,
        fills=surface == "spot" and any(material.kind == "filler" for material in materials),
    )


def sanded_in_turn(steps: tuple[Work, ...]) -> Iterator[list[str]]:
    """The abrasives used one after another on one surface."""
    sequence: list[str] = []
    for step in steps:
        if step.fills or step.film_um:
            yield sequence
            sequence = []
        elif step.abrasive:
            sequence.append(step.abrasive)
    yield sequence


def films_on_scratches(steps: tuple[Work, ...]) -> Iterator[tuple[str, float]]:
    """Each abrasive that films go over before the next abrasive or filling, and how thick they are."""
    last: str | None = None
    film_um = 0.0
    for step in (*steps, Work(fills=True)):
        if step.abrasive or step.fills:
            if last and film_um:
                yield last, film_um
            last, film_um = step.abrasive, 0.0
        film_um += step.film_um


def test_there_is_something_to_check() -> None:
    assert sum(any(step.abrasive for step in steps) for steps in courses()) >= 10
    assert SURFACES.keys() <= base_pack().stages.keys()


def test_each_abrasive_takes_out_the_scratches_of_the_one_before() -> None:
    sequences = [sequence for steps in courses() for sequence in sanded_in_turn(steps)]
    assert [sequence for sequence in sequences if steps_too_far(sequence)] == []


def test_films_hide_the_scratches_they_go_over() -> None:
    films = {film for steps in courses() for film in films_on_scratches(steps)}
    assert [(grade, film_um) for grade, film_um in films if film_um < film_to_hide_um(grade)] == []


def test_a_skipped_grade_is_found() -> None:
    steps = (Work("P80"), Work("P320"), Work(film_um=80))
    assert [steps_too_far(sequence) != [] for sequence in sanded_in_turn(steps)] == [True, False]


def test_a_film_too_thin_is_found() -> None:
    steps = (Work("P180"), Work(film_um=4), Work(film_um=24))
    assert list(films_on_scratches(steps)) == [("P180", 28.0)]
    assert film_to_hide_um("P180") > 28
