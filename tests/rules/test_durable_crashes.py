"""What crashes or hangs durable-rules, and that the adapter survives it."""

from __future__ import annotations

import platform
import threading

import pytest
from strategies import boolean, enumeration, pack_of, rule

from rules.conditions import All, Any, OneOf

raw_library = pytest.importorskip("raw_library", reason="needs durable-rules")
DurableEngine = pytest.importorskip("rules.engines.durable_adapter").DurableEngine

fills_memory = pytest.mark.skipif(
    platform.libc_ver()[0] != "glibc", reason="needs glibc, which can fill fresh memory"
)


def crashes(source: str) -> bool:
    """Whether a process that runs `source` is killed by a signal."""
    return raw_library.outcome_of(source)[0] < 0


@fills_memory
def test_the_library_crashes_when_a_state_without_actions_is_deleted() -> None:
    source = """
host = host_of([{"kind": 1}], [])
try:
    host.assert_fact(RULESET, {"sid": "1", "kind": 2})
except MessageNotHandledException:
    host.delete_state(RULESET, "1")
"""
    assert crashes(source)


def test_evaluations_in_which_no_rule_fires_survive() -> None:
    source = """
from strategies import boolean, pack_of, rule
from rules.conditions import OneOf
from rules.engines.durable_adapter import DurableEngine
engine = DurableEngine(pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))]))
for _ in range(300):
    with engine.evaluation() as match_layer:
        assert match_layer(0, {"wet": False}) == frozenset()
    with engine.evaluation():
        pass
print("survived")
"""
    assert raw_library.outcome_of(source) == (0, "survived")


@fills_memory
def test_the_library_runs_out_of_states_and_crashes_when_the_last_one_is_deleted() -> None:
    source = """
host = host_of([], [])
try:
    for number in range(2000):
        start(host, str(number))
except MemoryError:
    print(number, flush=True)
    host.delete_state(RULESET, str(number))
"""
    status, last_started = raw_library.outcome_of(source)
    assert status < 0
    assert last_started == "1024"


def test_more_evaluations_than_the_library_has_states_survive() -> None:
    engine = DurableEngine(pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))]))
    for number in range(1500):
        with engine.evaluation() as match_layer:
            assert match_layer(0, {"wet": number % 2 == 0}) == ({"a"} if number % 2 == 0 else set())
    engine.close()


def test_the_library_fails_with_more_than_256_rules_of_one_pattern() -> None:
    """It crashes, or refuses to build: it reads beyond the end of a table."""
    source = """
host = host_of([{"kind": 1}] * 400, [])
start(host, "1")
host.assert_fact(RULESET, {"sid": "1", "kind": 1})
"""
    assert raw_library.outcome_of(source)[0] != 0


def test_many_rules_of_one_pattern_all_fire() -> None:
    condition = All((OneOf("wet", (True,)), OneOf("kind", ("a", "b"))))
    engine = DurableEngine(
        pack_of(
            [boolean("wet"), enumeration("kind", "a", "b", "c")],
            [rule(f"r{n}", condition) for n in range(600)],
        )
    )
    with engine.evaluation() as match_layer:
        assert len(match_layer(0, {"wet": True, "kind": "b"})) == 600
    with engine.evaluation() as match_layer:
        assert match_layer(0, {"wet": True, "kind": "c"}) == frozenset()
    engine.close()


def test_the_library_hangs_with_more_than_512_tests_below_one_node() -> None:
    source = """
print("building", flush=True)
host = host_of([{"kind": number} for number in range(600)], [])
start(host, "1")
host.assert_fact(RULESET, {"sid": "1", "kind": 1})
"""
    assert raw_library.hangs(source)


def test_many_distinct_tests_in_one_layer_are_answered() -> None:
    members = [f"m{number}" for number in range(900)]
    rules = [rule(f"is-{member}", OneOf("kind", (member,))) for member in members]
    engine = DurableEngine(pack_of([enumeration("kind", *members)], rules))
    for member in ("m0", "m511", "m512", "m899"):
        with engine.evaluation() as match_layer:
            assert match_layer(0, {"kind": member}) == {f"is-{member}"}
    engine.close()


def test_rules_with_long_lists_of_members_are_answered() -> None:
    source = """
from strategies import enumeration, pack_of, rule
from rules.conditions import OneOf
from rules.engines.durable_adapter import DurableEngine
members = [f"m{number}" for number in range(800)]
lists = [tuple(members[start : start + 100]) for start in range(0, 800, 100)]
rules = [rule(f"r{number}", OneOf("kind", each)) for number, each in enumerate(lists)]
engine = DurableEngine(pack_of([enumeration("kind", *members)], rules))
with engine.evaluation() as match_layer:
    print(*match_layer(0, {"kind": "m733"}))
"""
    assert raw_library.outcome_of(source) == (0, "r7")


def test_a_pattern_true_of_the_librarys_own_state_fires_for_ever() -> None:
    source = """
import os
fired = []
def run(closure):
    fired.append(1)
    if len(fired) == 1000:
        os._exit(7)
host = QuietHost()
host.register_rulesets({RULESET: {"r": {"all": [{"m": {"$nex": {"wet": 1}}}], "run": run}}})
host.assert_fact(RULESET, {"sid": "1", "dry": 1})
"""
    assert raw_library.outcome_of(source)[0] == 7


def test_a_rule_without_conditions_fires_once() -> None:
    engine = DurableEngine(pack_of([boolean("wet")], [rule("always", All(()))]))
    noted: list[str] = []
    engine._note = noted.append
    with engine.evaluation() as match_layer:
        match_layer(0, {"wet": True})
    engine.close()
    assert noted == ["always"]


def test_the_library_crashes_on_a_long_name_of_a_state() -> None:
    assert crashes('start(host_of([], []), "1" * 10_000_000)')


def test_names_of_states_are_short() -> None:
    engine = DurableEngine(pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))]))
    for _ in range(3):
        with engine.evaluation():
            assert len(engine._state) < 20
    engine.close()


def test_the_librarys_host_starts_threads_and_the_engine_none() -> None:
    source = "import threading; host = Host(); print(threading.active_count())"
    assert raw_library.outcome_of(source) == (0, "3")
    before = threading.active_count()
    engine = DurableEngine(pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))]))
    assert threading.active_count() == before
    engine.close()


def test_the_library_fails_with_more_than_128_alternatives_behind_one_node() -> None:
    """It refuses to build, or crashes: it reads beyond the end of a table."""
    source = """
host_of([{"$and": [{"kind": 1}, {"$or": [{"a": 1}, {"a": 2}]}, {"b": n}]} for n in range(200)], [])
"""
    assert raw_library.outcome_of(source)[0] != 0


def test_many_rules_with_the_same_alternatives_all_fire() -> None:
    alternatives = Any((OneOf("kind", ("a", "b")), OneOf("wet", (True,))))
    parts = enumeration("part", *(f"p{number}" for number in range(300)))
    rules = [rule(f"r-{part}", All((alternatives, OneOf("part", (part,))))) for part in parts.values]
    engine = DurableEngine(pack_of([enumeration("kind", "a", "b", "c"), boolean("wet"), parts], rules))
    for part in ("p0", "p150", "p299"):
        with engine.evaluation() as match_layer:
            assert match_layer(0, {"kind": "a", "wet": True, "part": part}) == {f"r-{part}"}
    engine.close()
