"""The arithmetic of one procedure: order, windows, durations, materials, emissions, cost, timeline."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from math import inf, isinf
from statistics import median
from time import perf_counter

import numpy as np

from bench.line_items import typical_line_items
from bench.printing import heading, table
from planning.arranging import arranged
from planning.costs.model import Rates
from planning.job import job_of
from planning.model import Terms
from planning.procedure import plan
from planning.scheduling import schedule
from planning.timing.calendar import Calendar, Hours
from planning.timing.elapsed import sampled_jobs
from planning.timing.sampling import SAMPLES, work_samples
from planning.timing.start import start_of
from rules.decider import Decider
from rules.decision import Decision
from rules.engines.reference import ReferenceEngine
from rules.intake import CompleteFacts, complete
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack, Substrate
from schemas.line_item.facts import facts_given

SIZES = (25, 46)
MATERIALS = ("PP+EPDM-T20", "ABS")
ROUNDS = 300
MANY = 200_000
DEGREES = (inf, 5.0)
START = datetime(2027, 3, 2, 8, 15, tzinfo=timezone(timedelta(hours=-6)))
WEEKDAYS = frozenset(range(5))
CALENDAR = Calendar("America/Chicago", (Hours(WEEKDAYS, 450, 720), Hours(WEEKDAYS, 750, 1020)))
VARIED = ("damage_length_mm", "damage_depth_mm", "area_m2")
RATES = Rates("USD", {"body": Decimal(62), "refinish": Decimal(62)}, Decimal(410), 3)


@dataclass(frozen=True)
class Case:
    """A decided line item."""

    pack: Pack
    substrate: Substrate
    facts: CompleteFacts
    decision: Decision

    @property
    def stages(self) -> int:
        return len(self.decision.stages)


def measure() -> None:
    """Print how long a whole procedure's arithmetic takes, and the share of the schedule."""
    heading("The arithmetic of one procedure, facts and decision given, milliseconds")
    print(
        "Every round is another job of one decision, with length, depth, area, start and rates of its own;\n"
        "'first time': the same for a decision of which nothing is remembered yet. Medians but for 'least'."
    )
    cases = _cases()
    sized = [min(cases, key=lambda each: abs(each.stages - size)) for size in SIZES]
    measured = [(case, calendar) for case in sized for calendar in (None, CALENDAR)]
    series = [list(_distinct(case, calendar)) for case, calendar in measured]
    whole, part = _took_ms(_planned, series), _took_ms(_scheduled, series)
    first = _took_ms(_planned, [[(_unmet(case), terms) for case, terms in jobs] for jobs in series])
    rows = [
        (
            case.stages,
            "yes" if calendar else "no",
            f"{median(whole[number]):.2f}",
            f"{min(whole[number]):.2f}",
            f"{median(part[number]):.2f}",
            f"{median(first[number]):.2f}",
        )
        for number, (case, calendar) in enumerate(measured)
    ]
    table(("stages", "calendar", "all", "least", "of it order and schedule", "first time"), rows)
    heading(f"Quantiles of {SAMPLES:,} jobs against {MANY:,} independent ones, largest error in per cent")
    errors = [error for case in cases for degrees in DEGREES if (error := _error_pct(case, degrees))]
    worst = [
        (level, *(f"{max(abs(error[place]) for error in errors):.2f}" for place in (number, number + 3)))
        for number, level in enumerate(("P50", "P80", "P95"))
    ]
    table(("quantile", "elapsed", "work"), worst)


def _planned(case: Case, terms: Terms) -> object:
    return plan(case.pack, case.substrate, case.facts, case.decision, terms)


def _scheduled(case: Case, terms: Terms) -> object:
    job, properties = job_of(case.facts.values), case.substrate.properties
    order = arranged(case.pack, case.decision, properties, job)
    return schedule(order, start_of(terms.start_at, terms.calendar))


def _error_pct(case: Case, degrees: float) -> list[float]:
    """Of elapsed time and of work, each at three levels; empty where there is nothing to do."""
    properties, job = case.substrate.properties, job_of(case.facts.values)
    order = arranged(case.pack, case.decision, properties, job)
    if not order.sizes:
        return []
    course, back = order.course, order.pace.go_back
    times = [size.work._replace(degrees=degrees) for size in order.sizes.values()]
    draw = np.random.default_rng(20417)
    shape = (len(times), MANY)
    scores = draw.standard_normal(shape) if isinf(degrees) else draw.standard_t(degrees, shape)
    medians, spreads = (
        np.array(each)[:, None] for each in zip(*((t.median_min, t.spread) for t in times), strict=True)
    )
    few = sampled_jobs(course, work_samples(times), back)
    many = sampled_jobs(course, medians * np.exp(spreads * scores), back)
    pairs = ((few.elapsed_min, many.elapsed_min), (few.work_min, many.work_min))
    levels = (0.5, 0.8, 0.95)
    return [
        float(100 * (np.quantile(one, level) / np.quantile(other, level) - 1))
        for one, other in pairs
        for level in levels
    ]


def _cases() -> list[Case]:
    """The typical line items, for a soft and a hard plastic."""
    pack = load_folder(BASE_PACK)
    decider = Decider(pack, ReferenceEngine(pack))
    found = []
    for item in typical_line_items():
        for material in MATERIALS:
            facts = complete(pack, pack.substrates[material], facts_given(item.body, pack))
            decision = decider.decide(facts.values)
            found.append(Case(pack, pack.substrates[material], facts, decision))
    return found


def _distinct(case: Case, calendar: Calendar | None) -> Iterator[tuple[Case, Terms]]:
    """ROUNDS jobs of the same decision, and what each says beside its facts."""
    for number in range(ROUNDS):
        share = 1 - number / ROUNDS / 4
        values = dict(case.facts.values)
        for name in VARIED:
            if name in values:
                values[name] = float(values[name]) * share
        rates = replace(RATES, labour_per_hour={"body": Decimal(50 + number), "refinish": Decimal(62)})
        terms = Terms(start_at=START + timedelta(minutes=number), rates=rates, calendar=calendar)
        yield replace(case, facts=replace(case.facts, values=values)), terms


def _unmet(case: Case) -> Case:
    """The case with a decision of which nothing is remembered."""
    decision = case.decision
    return replace(case, decision=replace(decision, stages=dict(decision.stages)))


def _took_ms(
    run: Callable[[Case, Terms], object], series: Sequence[Sequence[tuple[Case, Terms]]]
) -> list[list[float]]:
    """Of every job; one job of each series in turn, so that what else the machine does falls on all alike."""
    for jobs in series:
        run(*jobs[0])
    took: list[list[float]] = [[] for _ in series]
    for turn in zip(*series, strict=True):
        for number, (case, terms) in enumerate(turn):
            began = perf_counter()
            run(case, terms)
            took[number].append((perf_counter() - began) * 1000)
    return took
