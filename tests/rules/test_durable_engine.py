"""The life of a durable-rules engine: turns, threads, closing, memory."""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor
from random import Random
from threading import Event, Thread

import pytest
from large_packs import large_pack, random_facts
from strategies import boolean, pack_of, rule

from rules.conditions import OneOf
from rules.decider import Decider
from rules.engines.faults import EngineClosed, EngineFault
from rules.engines.reference import ReferenceEngine

raw_library = pytest.importorskip("raw_library", reason="needs durable-rules")
DurableEngine = pytest.importorskip("rules.engines.durable_adapter").DurableEngine

PACK = pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))])
WET = {"wet": True}


def test_engines_say_their_names() -> None:
    assert DurableEngine.name == "durable-rules"
    assert ReferenceEngine.name == "reference"


def test_evaluations_know_nothing_of_each_other() -> None:
    engine = DurableEngine(PACK)
    for wet in (True, False, True):
        with engine.evaluation() as match_layer:
            assert match_layer(0, {"wet": wet}) == ({"a"} if wet else set())
    engine.close()


def test_two_engines_of_one_pack_know_nothing_of_each_other() -> None:
    first, second = DurableEngine(PACK), DurableEngine(PACK)
    with first.evaluation() as match_first, second.evaluation() as match_second:
        assert match_first(0, WET) == {"a"}
        assert match_second(0, {"wet": False}) == frozenset()
    first.close()
    with second.evaluation() as match_second:
        assert match_second(0, WET) == {"a"}
    second.close()


def test_a_thread_opens_one_evaluation_at_a_time() -> None:
    engine = DurableEngine(PACK)
    with engine.evaluation() as match_layer:
        with pytest.raises(EngineFault, match="open already"), engine.evaluation():
            pass
        assert match_layer(0, WET) == {"a"}
    engine.close()


def test_a_closed_evaluation_answers_no_more() -> None:
    engine = DurableEngine(PACK)
    with engine.evaluation() as stale:
        pass
    with pytest.raises(EngineFault, match="closed"):
        stale(0, WET)
    with engine.evaluation() as match_layer:
        with pytest.raises(EngineFault, match="closed"):
            stale(0, WET)
        assert match_layer(0, WET) == {"a"}
    engine.close()


def test_a_missing_fact_is_an_error_and_not_false() -> None:
    engine = DurableEngine(PACK)
    with engine.evaluation() as match_layer, pytest.raises(KeyError, match="wet"):
        match_layer(0, {})
    engine.close()


def test_threads_get_right_answers() -> None:
    random = Random(11)
    pack = large_pack(random, 60)
    engine = DurableEngine(pack)
    asked = [random_facts(random) for _ in range(200)]
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        with ThreadPoolExecutor(8) as pool:
            answers = list(pool.map(Decider(pack, engine).decide, asked))
    finally:
        sys.setswitchinterval(interval)
    reference = Decider(pack, ReferenceEngine(pack))
    assert answers == [reference.decide(facts) for facts in asked]
    engine.close()


def test_after_close_nothing_is_answered_and_closing_again_is_harmless() -> None:
    engine = DurableEngine(PACK)
    engine.close()
    engine.close()
    with pytest.raises(EngineClosed, match="closed"), engine.evaluation():
        pass


def test_closing_inside_an_evaluation_is_refused() -> None:
    engine = DurableEngine(PACK)
    with engine.evaluation() as match_layer:
        with pytest.raises(EngineFault, match="before the engine"):
            engine.close()
        assert match_layer(0, WET) == {"a"}
    engine.close()


def test_closing_waits_for_the_evaluation_of_another_thread() -> None:
    engine = DurableEngine(PACK)
    opened, asked_to_close = Event(), Event()
    answers: list[frozenset[str]] = []

    def evaluate() -> None:
        with engine.evaluation() as match_layer:
            opened.set()
            asked_to_close.wait(30)
            answers.append(match_layer(0, WET))

    def close() -> None:
        asked_to_close.set()
        engine.close()

    evaluating, closing = Thread(target=evaluate), Thread(target=close)
    evaluating.start()
    assert opened.wait(30)
    closing.start()
    evaluating.join(30)
    closing.join(30)
    assert answers == [{"a"}]
    with pytest.raises(EngineClosed), engine.evaluation():
        pass


MEMORY = """
import gc, sys
from random import Random
from large_packs import large_pack, random_facts
from rules.decider import Decider
from rules.engines import durable_adapter

def resident_kb():
    gc.collect()
    return int(next(line for line in open("/proc/self/status") if line.startswith("VmRSS")).split()[1])

if sys.argv[1:] == ["leak"]:
    durable_adapter.durable_rules_engine.delete_ruleset = lambda handle: None
random = Random(5)
pack, facts = large_pack(random, 100), random_facts(random)

def cycles(count):
    for _ in range(count):
        engine = durable_adapter.DurableEngine(pack)
        Decider(pack, engine).decide(facts)
        engine.close()

cycles(10)
before = resident_kb()
cycles(30)
print(resident_kb() - before)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs /proc to read the memory used")
def test_memory_stays_flat_over_engines_built_and_closed() -> None:
    leaking_kb = _grown_kb("leak")
    assert leaking_kb > 20_000
    assert _grown_kb() < leaking_kb / 3


def _grown_kb(*arguments: str) -> int:
    status, printed = raw_library.outcome_of(f"import sys; sys.argv[1:] = {list(arguments)}\n{MEMORY}")
    assert status == 0
    return int(printed)
