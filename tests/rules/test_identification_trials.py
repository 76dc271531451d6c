"""Simulated technicians, and what the choice of the next test saves them."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.intake import complete
from rules.loading import BASE_PACK, load_folder
from rules.materials.identification.beliefs import prior_for
from rules.materials.identification.model import Matter, Tables
from rules.materials.identification.questions import of_decisions
from rules.materials.identification.reading import load_tables
from rules.materials.identification.trials import Ended, Search, Trial, trial_of
from rules.pack import Pack

CRACK = {
    "condition": "factory_finish",
    "damage_type": "crack",
    "damage_length_mm": 80.0,
    "through": True,
    "backside_access": True,
}


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


@pytest.fixture(scope="module")
def tables(pack: Pack) -> Tables:
    return load_tables(pack)


@pytest.fixture(scope="module")
def matter(pack: Pack, tables: Tables) -> Matter:
    decider = Decider(pack, ReferenceEngine(pack))
    facts = {symbol: complete(pack, pack.substrates[symbol], CRACK).values for symbol in tables.properties}
    return of_decisions(pack, facts["PP"], {symbol: decider.decide(each) for symbol, each in facts.items()})


def trials(pack: Pack, tables: Tables, seed: int) -> list[Trial]:
    """One technician for every material in every kind of part that is typical of it."""
    random = Random(seed)
    return [
        trial_of(tables, symbol, part, random)
        for symbol in tables.properties
        for part in {
            prior_for(tables, each).part: each for each in pack.substrates[symbol].typical_parts
        }.values()
    ]


def test_technicians_see_each_result_as_often_as_the_tables_say(tables: Tables) -> None:
    random = Random(7)
    seen = Counter(trial_of(tables, "PUR", None, random).results["warm_air"] for _ in range(4000))
    likely = tables.likelihoods["warm_air"]["PUR"].results
    for result, probability in likely.items():
        assert seen[result] / 4000 == pytest.approx(probability, abs=0.04)


def test_the_same_seed_gives_the_same_technicians(pack: Pack, tables: Tables) -> None:
    assert trials(pack, tables, 3) == trials(pack, tables, 3)
    assert trials(pack, tables, 3) != trials(pack, tables, 4)


def test_a_search_remembers_but_answers_as_one_that_has_forgotten(
    pack: Pack, tables: Tables, matter: Matter
) -> None:
    remembering = Search(tables, matter)
    some = trials(pack, tables, 5)[:8]
    assert [remembering.run(trial) for trial in some] == [Search(tables, matter).run(trial) for trial in some]


def test_the_next_test_saves_nearly_two_of_five_where_a_line_item_says_what_matters(
    pack: Pack, tables: Tables, matter: Matter
) -> None:
    search = Search(tables, matter)
    technicians = [trial for seed in range(3) for trial in trials(pack, tables, seed)]
    chosen = [search.run(trial) for trial in technicians]
    ordered = [search.run(trial, list(tables.tests)) for trial in technicians]
    # A sample for one line item; `make bench` measures over many.
    assert done(chosen) <= 0.62 * done(ordered)
    assert settled(chosen) >= settled(ordered)
    assert wrong(chosen) <= 0.1 * settled(chosen)


def done(ended: list[Ended]) -> int:
    return sum(each.tests for each in ended)


def settled(ended: list[Ended]) -> float:
    return sum(each.settled for each in ended)


def wrong(ended: list[Ended]) -> float:
    return sum(each.wrong for each in ended)
