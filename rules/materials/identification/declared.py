"""Reads the declared parts of the tables: settings, bench tests, priors, and what is never done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from math import fsum

from rules.loading.nodes import Node
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.values import Joint, is_known, number_of, text_of
from rules.materials.identification.model import BenchTest, NeverDone, Prior
from rules.places import Place

ANY_PART = "any part"
"""The prior that stands for every part no other prior names."""

LEAST_WEIGHT = 0.001


def settings_of(node: Node, report: Report) -> tuple[float, float, float]:
    """Agreement, what is worthwhile, and trust in a marking."""
    row = Row(node, "'settings'", report, ("agreement", "worthwhile", "marking_trust", "source"))
    row.text("source")
    return (
        row.number("agreement", at_least=0.5, at_most=0.999),
        row.number("worthwhile", at_least=0.001, at_most=0.5),
        row.number("marking_trust", at_least=0.5, at_most=0.999),
    )


def never_of(nodes: Iterable[Node], cautions: Collection[str], report: Report) -> tuple[NeverDone, ...]:
    """Tests that are not to be done."""
    rows = [Row(node, "an item of 'never'", report, ("test", "why"), ("cautions",)) for node in nodes]
    return tuple(
        NeverDone(row.name("test", Joint.SNAKE), row.text("why"), _cautions(row, cautions)) for row in rows
    )


def bench_tests_of(
    nodes: Iterable[Node],
    cautions: Collection[str],
    truths: Collection[str],
    never: Collection[NeverDone],
    report: Report,
) -> dict[str, BenchTest]:
    """Bench tests by id, in the order declared; `truths` are the truth values a line item may state."""
    tests: dict[str, BenchTest] = {}
    for node in nodes:
        test = _bench_test(node, cautions, truths, report)
        if test.id in tests:
            told = f"the test {quoted(test.id)} stands here a second time, after {tests[test.id].place}"
            report.add("R107", test.place, f"{told}; keep one of them")
        for one in never:
            if test.id == one.test:
                report.add(
                    "R508", test.place, f"{quoted(test.id)} is never done: {one.why}; take the test away"
                )
        tests[test.id] = test
    return tests


def _bench_test(node: Node, cautions: Collection[str], truths: Collection[str], report: Report) -> BenchTest:
    needed = ("id", "question", "how", "safety", "results", "source")
    row = Row(node, "a test", report, needed, ("cautions", "not_on"))
    row.text("source")
    results = {name: text_of(told, f"'{name}'", report) for name, _, told in row.members("results")}
    if len(results) < 2 and "results" in row:
        report.add("R503", row.place_of("results"), "a test has at least two results; write the others too")
    return BenchTest(
        id=row.name("id", Joint.SNAKE),
        question=row.text("question"),
        how=tuple(text_of(step, "a step of 'how'", report) for step in row.items("how", least=1)),
        safety=row.text("safety"),
        results=results,
        cautions=_cautions(row, cautions),
        not_on=row.references("not_on", "fact", truths, "R012"),
        place=row.place,
    )


def _cautions(row: Row, cautions: Collection[str]) -> tuple[str, ...]:
    return row.references("cautions", "caution", cautions, "R118")


def priors_of(
    nodes: Iterable[Node], place: Place, symbols: Collection[str], tests: Collection[str], report: Report
) -> tuple[Prior, ...]:
    """The priors, that of any part last."""
    priors: list[Prior] = []
    for node in nodes:
        prior = _prior(node, symbols, tests, report)
        for phrase in {phrase for one in priors for phrase in one.words} & set(prior.words):
            told = f"{quoted(phrase)} stands in the 'words' of another prior too; keep one of them"
            report.add("R107", node.place, told)
        priors.append(prior)
    general = [prior for prior in priors if not prior.words]
    if [prior.part for prior in general] != [ANY_PART]:
        told = f"exactly one prior has no 'words', and its 'part' is {quoted(ANY_PART)}"
        report.add("R507", place, f"{told}; here there are {len(general)}")
    return (*(prior for prior in priors if prior.words), *general)


def _prior(node: Node, symbols: Collection[str], tests: Collection[str], report: Report) -> Prior:
    row = Row(node, "a prior", report, ("part", "weights", "others", "source"), ("words", "not_done"))
    others = row.number("others", at_least=LEAST_WEIGHT)
    weights = {**dict.fromkeys(symbols, others), **_weights(row, symbols, report)}
    total = fsum(weights.values())
    beliefs: Mapping[str, float] = {symbol: weight / total for symbol, weight in weights.items()}
    not_done = row.references("not_done", "test", tests, "R505")
    return Prior(row.text("part"), row.texts("words"), beliefs, row.text("source"), not_done)


def _weights(row: Row, symbols: Collection[str], report: Report) -> dict[str, float]:
    return {
        symbol: number_of(node, quoted(symbol), report, at_least=LEAST_WEIGHT)
        for symbol, place, node in row.members("weights")
        if is_known(symbol, place, "substrate", symbols, "R132", report)
    }
