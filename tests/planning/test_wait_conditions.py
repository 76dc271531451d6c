"""What a wait goes by: the film that is put on, the material's terms, and the heat that the plastic takes."""

from __future__ import annotations

from dataclasses import replace

from planning_examples import make_stage

from planning.job import Job
from planning.place.air import Air
from planning.stages import planned, sized
from planning.timing.conditions import (
    Conditions,
    conditions_of,
    film_um,
    with_terms_of_materials,
    within_heat_limit,
)
from rules.kinetics import ByFilm, ByHumidity, Heat
from rules.pack import Application, Kinetics, Material, Wait

FILM, HUMIDITY = ByFilm(40.0, 2.0), ByHumidity(50.0, 20.0, 80.0)
MATERIALS = {
    "colour": Material("colour", "Colour", "coating", "invented", film_um=8.0, by_humidity=HUMIDITY),
    "clear": Material("clear", "Clear", "coating", "invented", film_um=28.0, by_film=FILM),
    "cloth": Material("cloth", "Cloth", "consumable", "invented"),
}
FLASH = Wait(15.0, 20.0, Kinetics.EVAPORATION, 40.0, 15.0, 35.0)


def test_film_is_that_of_all_coats():
    assert film_um(make_stage("clear", materials=("clear",)), {"coats": 2.0}, MATERIALS) == 56
    assert film_um(make_stage("clear", materials=("cloth", "clear")), {}, MATERIALS) == 28
    assert film_um(make_stage("wipe", materials=("cloth",)), {"coats": 2.0}, MATERIALS) is None


def test_a_wait_goes_by_what_its_materials_say_where_it_does_not_say_so_itself():
    stage = make_stage("paint", wait=FLASH, materials=("cloth", "colour", "clear"))
    wait = with_terms_of_materials(stage, MATERIALS).wait
    assert (wait.by_film, wait.by_humidity) == (FILM, HUMIDITY)
    own = ByFilm(80.0, 1.0)
    stage = replace(stage, wait=replace(FLASH, by_film=own))
    assert with_terms_of_materials(stage, MATERIALS).wait.by_film == own


def test_a_fixed_wait_goes_by_nothing():
    stage = make_stage("paint", wait=Wait(15.0), materials=("colour", "clear"))
    assert with_terms_of_materials(stage, MATERIALS) == stage


def test_conditions_are_those_of_place_film_and_plastic():
    stage = make_stage("clear", materials=("clear",))
    air = Air(18.0, 17.0, 60.0)
    found = conditions_of(stage, {"coats": 2.0}, air, MATERIALS, {"bake_limit_c": 80.0, "swells": True})
    assert found == Conditions(18.0, 60.0, 56.0, 80.0)
    assert conditions_of(stage, {}, air, MATERIALS, {}).heat_limit_c is None


def test_a_stage_does_not_wait_in_air_that_is_too_damp_for_its_materials():
    application = Application((15.0, 35.0), (15.0, 35.0), (0.0, 85.0), 3.0, "invented")
    materials = {**MATERIALS, "colour": replace(MATERIALS["colour"], application=application)}
    paint, wipe = make_stage("paint", materials=("colour",)), make_stage("wipe", materials=("cloth",))
    damp = Air(20.0, 20.0, 100.0)
    assert conditions_of(paint, {}, damp, materials, {}).humidity_pct == 85
    assert conditions_of(wipe, {}, damp, materials, {}).humidity_pct == 100
    assert conditions_of(paint, {}, Air(20.0, 20.0, None), materials, {}).humidity_pct is None


def test_no_more_heat_than_the_plastic_takes():
    cool = {"temperature_c": 60.0, "means": "lamps"}
    for limit_c in (None, 60.0, 80.0):
        assert within_heat_limit(cool, limit_c) == (cool, None)
    guarded, told = within_heat_limit(cool, 50.0)
    assert guarded == {"temperature_c": 50.0, "means": "lamps"}
    assert "60 °C is asked for" in told
    assert "not to be warmed above 50 °C" in told
    assert within_heat_limit({"coats": 2.0}, 50.0) == ({"coats": 2.0}, None)


def test_a_bake_above_the_limit_is_planned_told_and_waited_for_at_the_limit():
    stage = make_stage(
        "bake",
        instructions=("Bake at {temperature_c} °C.",),
        wait=Wait(30.0, 60.0, Kinetics.CURE, 50.0, 40.0, 80.0, heat=Heat(4.0)),
        parameters={"temperature_c": 60.0},
    )
    size = sized(stage, stage.parameters, Job(), Conditions(20.0, heat_limit_c=50.0))
    answer = planned(size, 1)
    assert answer.instructions == ("Bake at 50 °C.",)
    assert answer.parameters["temperature_c"] == answer.bake.temperature_c == 50
    assert answer.bake.heat_up_min == 7.5
    assert answer.wait_min > 37.5
    assert answer.wait_note.startswith("60 °C is asked for")
