from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import permutations, product
from math import fsum, log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from material_samples import pack_of, row

from rules.conditions import Value
from rules.materials.identification.beliefs import posterior, prior_for
from rules.materials.identification.choosing import GOING_ON_BITS, Choice, Stop, best_test, remaining_tests
from rules.materials.identification.identify import EvidenceRefused, identify
from rules.materials.identification.model import (
    Beliefs,
    BenchTest,
    Evidence,
    Likelihood,
    Matter,
    NeverDone,
    Prior,
    Question,
    Tables,
)
from rules.materials.identification.outlook import outlook_of, probabilities, prospect_of
from rules.materials.resolve import MaterialUnknown
from rules.pack import Pack

ROWS = (
    row("PP", matrix="thermoplastic", surface_energy="low"),
    row("PE-HD", matrix="thermoplastic", surface_energy="low"),
    row("ABS", matrix="thermoplastic", surface_energy="medium"),
    row("EP", matrix="thermoset", surface_energy="high"),
    row("unknown", matrix="thermoset", surface_energy="low"),
)
PACK = pack_of(*ROWS)
SYMBOLS = ("PP", "PE-HD", "ABS", "EP")


def tables_of(
    likelihoods: dict[str, dict[str, dict[str, float]]],
    prior: dict[str, float] | None = None,
    pack: Pack = PACK,
) -> Tables:
    """Tables from test -> symbol -> result -> probability; equal priors unless given."""
    symbols = [symbol for symbol in pack.substrates if symbol != "unknown"]
    properties = {symbol: pack.substrates[symbol].properties for symbol in symbols}
    equal = prior or dict.fromkeys(symbols, 1 / len(symbols))
    return Tables(
        agreement=0.95,
        worthwhile=0.02,
        marking_trust=0.97,
        properties=properties,
        matter=Matter(
            Question("properties", {symbol: tuple(row.values()) for symbol, row in properties.items()}),
            tuple(asked(fact, properties) for fact in ("matrix", "surface_energy")),
        ),
        tests={
            test: BenchTest(
                test, "?", ("Do it.",), "Safely.", dict.fromkeys(next(iter(rows.values())), "Seen.")
            )
            for test, rows in likelihoods.items()
        },
        likelihoods={
            test: {symbol: Likelihood(results, "Invented.", "invented") for symbol, results in rows.items()}
            for test, rows in likelihoods.items()
        },
        priors=(
            Prior("bumper", ("bumper",), {"PP": 0.7, "PE-HD": 0.1, "ABS": 0.1, "EP": 0.1}, "invented"),
            Prior(
                "front bumper",
                ("front bumper",),
                {"PP": 0.1, "PE-HD": 0.1, "ABS": 0.7, "EP": 0.1},
                "invented",
            ),
            Prior("any part", (), equal, "invented"),
        ),
        never=(NeverDone("burn", "Its fumes are poisonous."),),
    )


def asked(fact: str, properties: Mapping[str, Mapping[str, Value]]) -> Question:
    return Question(fact, {symbol: row[fact] for symbol, row in properties.items()})


def two(first: str, second: str, **firsts: float) -> dict[str, dict[str, float]]:
    """For each material the probability of the first of two results."""
    named = {symbol.replace("_", "-"): value for symbol, value in firsts.items()}
    return {symbol: {first: value, second: 1 - value} for symbol, value in named.items()}


TABLES = tables_of(
    {
        "float": two("floats", "sinks", PP=0.9, PE_HD=0.95, ABS=0.1, EP=0.05),
        "warm_air": two("softens", "no_change", PP=0.9, PE_HD=0.9, ABS=0.9, EP=0.1),
        "grain": two("coarse", "fine", PP=0.1, PE_HD=0.9, ABS=0.5, EP=0.5),
    }
)


@st.composite
def random_tables(draw: st.DrawFn) -> Tables:
    probabilities = st.floats(0.01, 1)
    likelihoods: dict[str, dict[str, dict[str, float]]] = {}
    for test in ("one", "two", "three"):
        results = ("a", "b", "c")[: draw(st.integers(2, 3))]
        rows = {symbol: {result: draw(probabilities) for result in results} for symbol in SYMBOLS}
        likelihoods[test] = {
            symbol: {result: value / fsum(row.values()) for result, value in row.items()}
            for symbol, row in rows.items()
        }
    weights = {symbol: draw(probabilities) for symbol in SYMBOLS}
    total = fsum(weights.values())
    return tables_of(likelihoods, {symbol: weight / total for symbol, weight in weights.items()})


@st.composite
def tables_with_results(draw: st.DrawFn) -> tuple[Tables, dict[str, str]]:
    tables = draw(random_tables())
    tests = draw(st.lists(st.sampled_from(sorted(tables.tests)), unique=True))
    return tables, {test: draw(st.sampled_from(sorted(tables.tests[test].results))) for test in tests}


@given(tables_with_results(), st.none() | st.sampled_from([">PP<", ">ABS-FR(17)<", ">PP,ABS<"]))
@settings(max_examples=60)
def test_probabilities_sum_to_one_and_are_ranked(
    given_: tuple[Tables, dict[str, str]], marking: str | None
) -> None:
    tables, results = given_
    answer = identify(PACK, tables, Evidence(marking, results))
    probabilities = [candidate.probability for candidate in answer.candidates]
    assert fsum(probabilities) == pytest.approx(1, abs=1e-12)
    assert probabilities == sorted(probabilities, reverse=True)
    assert {candidate.material for candidate in answer.candidates} == set(SYMBOLS)
    assert (answer.next_test is None) != (answer.stops is None)
    assert answer.agreed.keys() | answer.open.keys() == {"matrix", "surface_energy"}
    assert not answer.agreed.keys() & answer.open.keys()


@given(tables_with_results())
@settings(max_examples=40)
def test_the_order_of_the_evidence_changes_nothing(given_: tuple[Tables, dict[str, str]]) -> None:
    tables, results = given_
    answers = {
        repr(identify(PACK, tables, Evidence(tests=dict(order)))) for order in permutations(results.items())
    }
    assert len(answers) == 1


@given(tables_with_results())
@settings(max_examples=40)
def test_evidence_weighed_at_once_and_one_by_one_is_the_same(given_: tuple[Tables, dict[str, str]]) -> None:
    tables, results = given_
    prior = prior_for(tables, None).beliefs
    likelihoods = [tables.of_result(test, result) for test, result in results.items()]
    stepwise = dict(prior)
    for likelihood in likelihoods:
        stepwise = posterior(stepwise, [likelihood])
    assert posterior(prior, likelihoods) == pytest.approx(stepwise, rel=1e-9)


@given(tables_with_results())
@settings(max_examples=40)
def test_beliefs_are_bayes_rule_in_plain_arithmetic(given_: tuple[Tables, dict[str, str]]) -> None:
    tables, results = given_
    weights = dict(prior_for(tables, None).beliefs)
    for test, result in results.items():
        for symbol in weights:
            weights[symbol] *= tables.likelihoods[test][symbol].results[result]
    total = sum(weights.values())
    answer = identify(PACK, tables, Evidence(tests=results))
    for candidate in answer.candidates:
        assert candidate.probability == pytest.approx(weights[candidate.material] / total, rel=1e-9)


def entropy(probabilities: list[float]) -> float:
    return -sum(p * log2(p) for p in probabilities if p > 0)


def after(tables: Tables, beliefs: Beliefs, test: str, result: str) -> dict[str, float]:
    return posterior(beliefs, [tables.of_result(test, result)])


def members(question: Question) -> list[list[str]]:
    """The candidates of each answer."""
    answers = set(question.answers.values())
    return [[symbol for symbol in SYMBOLS if question.answers[symbol] == answer] for answer in answers]


@given(random_tables())
@settings(max_examples=40)
def test_what_a_test_tells_is_the_mutual_information_of_answer_and_result(tables: Tables) -> None:
    # H(R) - H(R | answer), the other way round from how it is reckoned.
    beliefs = prior_for(tables, None).beliefs
    outlook = outlook_of(tables, beliefs, tuple(tables.tests))
    for question in tables.matter.questions:
        prospect = prospect_of(tables, outlook, question)
        for test, bits_after in zip(outlook.tests, prospect.bits_after, strict=True):
            rows, results = tables.likelihoods[test], list(tables.tests[test].results)
            of_all = [sum(beliefs[s] * rows[s].results[r] for s in SYMBOLS) for r in results]
            within = 0.0
            for alike in members(question):
                mass = sum(beliefs[s] for s in alike)
                held = [sum(beliefs[s] * rows[s].results[r] for s in alike) / mass for r in results]
                within += mass * entropy(held)
            gain = prospect.bits_now - bits_after
            assert gain == pytest.approx(entropy(of_all) - within, abs=1e-9)
            assert -1e-12 <= gain <= prospect.bits_now + 1e-12


@given(random_tables())
@settings(max_examples=40)
def test_what_is_expected_after_a_result_is_what_is_found_after_it(tables: Tables) -> None:
    beliefs = prior_for(tables, None).beliefs
    tests = tuple(tables.tests)
    outlook = outlook_of(tables, beliefs, tests)
    for question in tables.matter.questions:
        prospect = prospect_of(tables, outlook, question)
        for axis, test in enumerate(tests):
            left = [other for other in tests if other != test]
            for number, result in enumerate(tables.tests[test].results):
                believed = after(tables, beliefs, test, result)
                found = prospect_of(tables, outlook_of(tables, believed, left), question)
                assert prospect.open_after[axis][number] == pytest.approx(found.open_now, abs=1e-9)
            assert probabilities(outlook, axis).sum() == pytest.approx(1)


@given(random_tables())
@settings(max_examples=40)
def test_a_question_is_pursued_only_while_all_tests_together_settle_it_often_enough(tables: Tables) -> None:
    beliefs = prior_for(tables, None).beliefs
    outlook = outlook_of(tables, beliefs, tuple(tables.tests))
    for question in tables.matter.questions:
        settles = 0.0
        for results in product(*(test.results for test in tables.tests.values())):
            weights = dict(beliefs)
            for test, result in zip(tables.tests, results, strict=True):
                for symbol in weights:
                    weights[symbol] *= tables.likelihoods[test][symbol].results[result]
            held = [sum(weights[symbol] for symbol in alike) for alike in members(question)]
            settles += sum(held) if max(held) >= tables.agreement * sum(held) else 0.0
        prospect = prospect_of(tables, outlook, question)
        pursued = not prospect.settled and settles >= tables.worthwhile
        assert (prospect.open_now > 0) == pursued
        assert prospect.open_now in (0.0, prospect.bits_now)


@given(random_tables())
@settings(max_examples=40)
def test_no_other_test_leaves_less_to_do(tables: Tables) -> None:
    beliefs = prior_for(tables, None).beliefs
    tests = tuple(tables.tests)
    chosen = best_test(tables, beliefs, tests, tables.matter)
    if isinstance(chosen, Choice):
        outlook = outlook_of(tables, beliefs, tests)
        prospects = [prospect_of(tables, outlook, question) for question in tables.matter.questions]
        left = {
            test: sum(
                probability * (GOING_ON_BITS + bits)
                for number, probability in enumerate(probabilities(outlook, axis))
                if (bits := max(prospect.open_after[axis][number] for prospect in prospects))
            )
            for axis, test in enumerate(tests)
        }
        assert left[chosen.test] <= min(left.values()) + 1e-8
        assert chosen.about in {question.about for question in tables.matter.questions}


def test_telling_apart_what_the_rules_see_alike_gains_nothing() -> None:
    beliefs = {"PP": 0.5, "PE-HD": 0.5 - 2e-15, "ABS": 1e-15, "EP": 1e-15}
    outlook = outlook_of(TABLES, beliefs, ("grain",))
    prospect = prospect_of(TABLES, outlook, TABLES.matter.whole)
    assert prospect.bits_now - prospect.bits_after[0] == pytest.approx(0, abs=1e-12)


def test_with_too_many_tests_the_outlook_keeps_to_those_that_tell_most() -> None:
    blunt = two("yes", "no", PP=0.5, PE_HD=0.5, ABS=0.5, EP=0.5)
    sharp = two("yes", "no", PP=0.99, PE_HD=0.99, ABS=0.01, EP=0.01)
    tables = tables_of({**{f"blunt_{number}": blunt for number in range(20)}, "sharp": sharp})
    outlook = outlook_of(tables, prior_for(tables, None).beliefs, tuple(tables.tests))
    assert "sharp" in outlook.tests
    assert len(outlook.tests) == 14
    chosen = best_test(tables, prior_for(tables, None).beliefs, tuple(tables.tests), tables.matter)
    assert isinstance(chosen, Choice)
    assert chosen.test == "sharp"


def test_tests_not_to_be_done_on_a_part_are_not_proposed() -> None:
    tests = {**TABLES.tests, "float": replace(TABLES.tests["float"], not_on=("airbag_cover",))}
    tables = replace(TABLES, tests=tests)
    prior = prior_for(tables, None)
    of_cover = replace(tables.matter, facts={"airbag_cover": True})
    of_another = replace(tables.matter, facts={"airbag_cover": False})
    assert remaining_tests(tables, (), prior, of_another) == ["float", "warm_air", "grain"]
    assert remaining_tests(tables, (), prior, of_cover) == ["warm_air", "grain"]
    assert remaining_tests(tables, ("grain",), replace(prior, not_done=("warm_air",)), of_cover) == []
    answer = identify(PACK, tables, Evidence(tests={"warm_air": "softens", "grain": "fine"}), of_cover)
    assert answer.stops is Stop.NO_TEST_LEFT


def test_no_test_is_proposed_once_the_facts_are_agreed_though_the_material_is_open() -> None:
    tables = tables_of({"grain": TABLES_GRAIN}, {"PP": 0.49, "PE-HD": 0.49, "ABS": 0.01, "EP": 0.01})
    answer = identify(PACK, tables, Evidence())
    assert answer.stops is Stop.SETTLED
    assert answer.next_test is None
    assert answer.agreed == {"matrix": "thermoplastic", "surface_energy": "low"}
    assert answer.candidates[0].probability == pytest.approx(0.49)


TABLES_GRAIN = two("coarse", "fine", PP=0.1, PE_HD=0.9, ABS=0.5, EP=0.5)


def test_facts_below_the_declared_agreement_stay_open_with_their_shares() -> None:
    tables = replace(TABLES, agreement=0.9)
    answer = identify(PACK, tables, Evidence(tests={"warm_air": "softens"}))
    assert answer.agreed == {"matrix": "thermoplastic"}
    assert answer.open["surface_energy"]["low"] == pytest.approx(1.8 / 2.8)
    assert answer.next_test is not None
    assert answer.next_test.test == "float"


def test_stops_when_every_test_is_done_or_none_would_tell_enough() -> None:
    done = {"float": "sinks", "warm_air": "softens", "grain": "fine"}
    assert identify(PACK, TABLES, Evidence(tests=done)).stops is Stop.NO_TEST_LEFT
    blind = tables_of({"grain": two("coarse", "fine", PP=0.5, PE_HD=0.5, ABS=0.5, EP=0.5)})
    assert identify(PACK, blind, Evidence()).stops is Stop.NOTHING_TO_GAIN


def test_a_marking_goes_before_what_parts_of_the_kind_are_mostly_made_of() -> None:
    answer = identify(PACK, TABLES, Evidence(marking=">EP<", part="bumper"))
    best = answer.candidates[0]
    assert best.material == "EP"
    assert best.probability == pytest.approx(0.1 * 0.97 / (0.1 * 0.97 + 0.9 * 0.01))
    assert best.evidence[0].startswith("marking >EP< speaks for it (0.97;")
    assert "against it" in answer.candidates[-1].evidence[0]


def test_a_marking_of_several_materials_speaks_for_each() -> None:
    answer = identify(PACK, TABLES, Evidence(marking=">ABS,EP<"))
    assert [candidate.material for candidate in answer.candidates[:2]] == ["ABS", "EP"]
    assert answer.candidates[0].probability == pytest.approx(0.485)


def test_a_part_whose_material_is_said_to_be_unknown_is_as_if_unmarked() -> None:
    assert identify(PACK, TABLES, Evidence(marking="unknown")) == identify(PACK, TABLES, Evidence())


def test_a_marking_that_names_no_row_is_refused() -> None:
    with pytest.raises(MaterialUnknown):
        identify(PACK, TABLES, Evidence(marking=">PC<"))


@pytest.mark.parametrize(
    ("part", "prior"),
    [
        (None, "any part"),
        ("", "any part"),
        ("Rear  BUMPER cover", "bumper"),
        ("front bumper cover", "front bumper"),
        ("bumpers", "any part"),
    ],
)
def test_the_longest_phrase_in_the_name_of_the_part_chooses_the_prior(part: str | None, prior: str) -> None:
    assert identify(PACK, TABLES, Evidence(part=part)).prior_part == prior


def test_unknown_tests_and_results_are_refused_together_and_burning_with_its_reason() -> None:
    with pytest.raises(EvidenceRefused) as refused:
        identify(PACK, TABLES, Evidence(tests={"burn": "soot", "float": "hovers"}))
    burn, hovers = refused.value.faults
    assert "fumes are poisonous" in burn.detail
    assert hovers.accepted == ("floats", "sinks")
