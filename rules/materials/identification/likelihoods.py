"""Reads likelihoods and gives every material exactly one for every test.

A likelihood that names substrates goes before those that hold for a class of properties; among
either kind, two for one material are a fault, as none is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import fsum

from rules.conditions import All
from rules.loading.conditions import when_of
from rules.loading.known import Known
from rules.loading.nodes import Node
from rules.loading.phrases import listed, quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import is_known, number_of, text_of
from rules.materials.identification.figures import FigureRule, results_of
from rules.materials.identification.model import BenchTest, Likelihood
from rules.pack import Pack, Substrate
from rules.places import Place
from rules.predicates import holds
from rules.vocabulary import Origin

LEAST, MOST = 0.005, 0.995
"""No result is impossible or certain: one misread test must not rule a material out."""


@dataclass(frozen=True)
class Declared:
    """One likelihood as written: for a class (`when`) or for named substrates."""

    place: Place
    test: str
    when: All | None
    substrates: tuple[str, ...]
    results: Mapping[str, float]
    figure: FigureRule | None
    why: str
    source: str


def likelihoods_of(
    nodes: Iterable[Node],
    tests: Mapping[str, BenchTest],
    pack: Pack,
    symbols: Collection[str],
    report: Report,
) -> dict[str, dict[str, Likelihood]]:
    """Test -> symbol -> likelihood."""
    facts = {fact.name: fact for fact in pack.vocabulary.from_origin(Origin.SUBSTRATE)}
    known = Known(fact_names=facts, facts=facts)
    declared = [_declared(node, tests, symbols, known, report) for node in nodes]
    if report.findings:  # What holds for which material can't be told from faulty lines.
        return {}
    return {
        test.id: {
            symbol: likelihood
            for symbol in symbols
            if (likelihood := _likelihood(test, pack.substrates[symbol], declared, report))
        }
        for test in tests.values()
    }


def _likelihood(
    test: BenchTest, row: Substrate, declared: Iterable[Declared], report: Report
) -> Likelihood | None:
    own = [one for one in declared if one.test == test.id]
    named = [one for one in own if row.symbol in one.substrates]
    fitting = named or [one for one in own if one.when is not None and holds(one.when, row.properties)]
    if len(fitting) != 1:
        told = f"the test {quoted(test.id)} has {len(fitting)} likelihoods for {row.symbol}"
        places = f" ({', '.join(str(one.place) for one in fitting)})" if fitting else ""
        report.add("R502", test.place, f"{told}{places}; let exactly one hold for it")
        return None
    chosen = fitting[0]
    if chosen.figure is None:
        return Likelihood(chosen.results, chosen.why, chosen.source)
    figure = row.figures.get(chosen.figure.figure)
    if figure is None:
        told = f"{row.symbol} has no figure {quoted(chosen.figure.figure)} to tell the result by"
        report.add("R504", chosen.place, f"{told}; add the figure, or name the substrate in a likelihood")
        return None
    return Likelihood(results_of(chosen.figure, figure), chosen.why, chosen.source)


def _declared(
    node: Node, tests: Mapping[str, BenchTest], symbols: Collection[str], known: Known, report: Report
) -> Declared:
    optional = ("when", "substrates", "likely", "figure")
    row = Row(node, "a likelihood", report, ("test", "why", "source"), optional)
    _exactly_one(row, ("when", "substrates"), report)
    _exactly_one(row, ("likely", "figure"), report)
    test = row.reference("test", "test", tests, "R505")
    results = tuple(tests[test].results) if test else ()
    condition, figure = row.node("when"), row.node("figure")
    return Declared(
        place=row.place,
        test=test,
        when=when_of(condition, known, report) if condition else None,
        substrates=row.references("substrates", "substrate", symbols, "R132"),
        results=_results(row, results, report) if test else {},
        figure=_figure_rule(figure, results, report) if figure and test else None,
        why=row.text("why"),
        source=row.text("source"),
    )


def _exactly_one(row: Row, names: tuple[str, str], report: Report) -> None:
    if sum(name in row for name in names) != 1:
        one, other = names
        report.add("R102", row.place, f"a likelihood has either '{one}' or '{other}'; write one of the two")


def _results(row: Row, results: tuple[str, ...], report: Report) -> dict[str, float]:
    if "likely" not in row:
        return {}
    likely = {
        name: number_of(node, quoted(name), report, LEAST, MOST)
        for name, place, node in row.members("likely")
        if is_known(name, place, "result", results, "R506", report)
    }
    total = fsum(likely.values())
    missing = set(results) - likely.keys()
    if missing or abs(total - 1) > 1e-6:
        lacks = f" without {listed(missing)}" if missing else ""
        told = f"the results{lacks} add up to {total:g}"
        report.add("R503", row.place_of("likely"), f"{told}; give each a probability, 1 together")
    return likely


def _figure_rule(node: Node, results: tuple[str, ...], report: Report) -> FigureRule:
    row = Row(node, "'figure'", report, ("name", "cuts", "results", "error"))
    cuts = tuple(number_of(cut, "a cut", report) for cut in row.items("cuts", least=1))
    given = tuple(text_of(result, "a result", report) for result in row.items("results", least=1))
    if sorted(given) != sorted(results) or len(given) != len(cuts) + 1:
        told = f"a figure with {len(cuts)} cuts gives {len(cuts) + 1} results, each result of the test once"
        report.add("R503", row.place, f"{told}: {listed(results)}")
    if any(low >= high for low, high in pairwise(cuts)):
        report.add("R503", row.place_of("cuts"), "the cuts of a figure ascend; sort them")
    error = row.number("error", at_least=2 * LEAST, at_most=0.9)
    return FigureRule(row.text("name"), cuts, given, error)
