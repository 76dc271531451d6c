"""How many bench tests the choice of the next one saves against a fixed order.

For every material, in every kind of part that is typical of it, simulated technicians see each result as
often as the tables say. The same technicians are asked for the test proposed, for the tests in the order
declared, and for the tests in an order of chance, each under the same rule for stopping.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import cycle
from operator import attrgetter
from random import Random
from statistics import fmean

from bench.line_items import TypicalLineItem, typical_line_items
from bench.printing import heading, per_cent, table
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, load_folder
from rules.materials.identification.beliefs import prior_for
from rules.materials.identification.model import Matter, Tables
from rules.materials.identification.questions import of_decisions
from rules.materials.identification.reading import load_tables
from rules.materials.identification.trials import Ended, Search, Trial, trial_of
from rules.pack import Pack

SEED = 20417
TECHNICIANS = 4
"""For each material in each kind of part."""

ORDERS = 7
"""Orders of chance, dealt out in turn."""

COLUMNS = ("", "answers", "proposed", "declared", "of declared", "by chance", "of chance", "settled", "wrong")


PROPOSED, DECLARED, CHANCE = range(3)


@dataclass(frozen=True)
class Runs:
    """What became of one technician's part, by the way in which the next test was found."""

    trial: Trial
    ended: tuple[Ended, Ended, Ended]


def measure() -> None:
    """Prints the tables."""
    pack = load_folder(BASE_PACK)
    tables = load_tables(pack)
    trials = _trials(pack, tables)
    heading("Identification: bench tests needed")
    print(
        f"{len(tables.properties)} materials, {len(trials)} technicians, seed {SEED}; means over materials.\n"
        "answers: how many procedures the materials lead to. settled, wrong: the share of what matters that\n"
        "was settled, and settled wrongly, by the tests proposed / in the order declared.\n"
    )
    line_items = [(each.about, _matter(pack, tables, each)) for each in typical_line_items()]
    found = {about: _runs(tables, matter, trials) for about, matter in line_items}
    rows = [_row(about, found[about], matter) for about, matter in line_items]
    every = [run for runs in found.values() for run in runs]
    table(COLUMNS, [*rows, _row("All line items", every), *_by_part(tables, every)])
    print()
    unasked = _runs(tables, tables.matter, trials)
    table(COLUMNS, [_row("No line item known", unasked, tables.matter), *_by_part(tables, unasked)])


def _trials(pack: Pack, tables: Tables) -> list[Trial]:
    random = Random(SEED)
    return [
        trial_of(tables, symbol, part, random)
        for symbol in tables.properties
        for part in _kinds(tables, pack.substrates[symbol].typical_parts)
        for _ in range(TECHNICIANS)
    ]


def _kinds(tables: Tables, parts: Iterable[str]) -> list[str]:
    """One part of each kind that the tables tell apart."""
    return list({prior_for(tables, part).part: part for part in parts}.values())


def _matter(pack: Pack, tables: Tables, line_item: TypicalLineItem) -> Matter:
    decider = Decider(pack, ReferenceEngine(pack))
    facts = {symbol: line_item.facts(pack, symbol) for symbol in tables.properties}
    decisions = {symbol: decider.decide(each) for symbol, each in facts.items()}
    return of_decisions(pack, next(iter(facts.values())), decisions)


def _runs(tables: Tables, matter: Matter, trials: Iterable[Trial]) -> list[Runs]:
    search, random, declared = Search(tables, matter), Random(SEED), list(tables.tests)
    chance = cycle([random.sample(declared, len(declared)) for _ in range(ORDERS)])
    return [
        Runs(trial, (search.run(trial), search.run(trial, declared), search.run(trial, next(chance))))
        for trial in trials
    ]


def _by_part(tables: Tables, runs: Sequence[Runs]) -> list[tuple[object, ...]]:
    kinds: dict[str, list[Runs]] = {prior.part: [] for prior in tables.priors}
    for run in runs:
        kinds[prior_for(tables, run.trial.part).part].append(run)
    return [_row(f"  {kind}", own) for kind, own in kinds.items() if own]


def _row(about: str, runs: Sequence[Runs], matter: Matter | None = None) -> tuple[object, ...]:
    proposed, declared, chance = (
        _mean(runs, [run.ended[way].tests for run in runs]) for way in (PROPOSED, DECLARED, CHANCE)
    )
    settled, wrong = (
        " / ".join(
            per_cent(_mean(runs, [share(run.ended[way]) for run in runs]), 1) for way in (PROPOSED, DECLARED)
        )
        for share in (attrgetter("settled"), attrgetter("wrong"))
    )
    return (
        about,
        len(set(matter.whole.answers.values())) if matter else "",
        f"{proposed:.2f}",
        f"{declared:.2f}",
        per_cent(proposed, declared),
        f"{chance:.2f}",
        per_cent(proposed, chance),
        settled,
        wrong,
    )


def _mean(runs: Sequence[Runs], values: Sequence[float]) -> float:
    """Over materials, each weighing the same in however many kinds of part it is met."""
    own: dict[str, list[float]] = defaultdict(list)
    for run, value in zip(runs, values, strict=True):
        own[run.trial.material].append(value)
    return fmean(fmean(each) for each in own.values())
