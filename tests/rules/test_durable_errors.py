"""What durable-rules refuses, drops or swallows, and that nothing of it goes unnoticed."""

from __future__ import annotations

import pytest
from strategies import boolean, enumeration, number, pack_of, rule

from rules.conditions import All, Any, OneOf, Within
from rules.engines.faults import EngineClosed, EngineFault
from rules.engines.names import fnv1a
from rules.pack import Pack
from rules.vocabulary import Origin

raw_library = pytest.importorskip("raw_library", reason="needs durable-rules")
durable_adapter = pytest.importorskip("rules.engines.durable_adapter")
DurableEngine = durable_adapter.DurableEngine
library = pytest.importorskip("durable.engine")

WET = {"wet": True}


def small_pack() -> Pack:
    """Two rules that hold when it is wet, and one of a later layer."""
    derived = boolean("sealed", origin=Origin.RULES, default=False)
    return pack_of(
        [boolean("wet"), derived],
        [
            rule("a", OneOf("wet", (True,)), conclude={"sealed": True}),
            rule("b", OneOf("wet", (True,))),
            rule("later", OneOf("sealed", (True,))),
        ],
    )


@pytest.mark.parametrize("value", [float("inf"), 1e-07, "\ud800"])
def test_values_the_library_refuses_never_reach_it(value: object) -> None:
    with pytest.raises((library.durable_rules_engine.error, UnicodeEncodeError)):
        raw_library.firings({"a": 1}, {"a": value})


def test_members_and_bounds_the_library_would_refuse_are_answered() -> None:
    facts = [enumeration("text", "\ud800", "\x00", "plain"), number("amount", 0.0, float("inf"), 1e-7)]
    engine = DurableEngine(
        pack_of(
            facts,
            [
                rule("odd", OneOf("text", ("\ud800",))),
                rule("none", OneOf("text", ("\x00",))),
                rule("some", Within("amount", 1e-7, None)),
            ],
        )
    )
    with engine.evaluation() as match_layer:
        assert match_layer(0, {"text": "\ud800", "amount": float("inf")}) == {"odd", "some"}
    with engine.evaluation() as match_layer:
        assert match_layer(0, {"text": "\x00", "amount": 0.0}) == {"none"}
    engine.close()


def test_the_library_takes_no_more_than_252_attributes() -> None:
    with pytest.raises(library.durable_rules_engine.error, match="302"):
        raw_library.firings({"a0": 1}, {f"a{n}": 1 for n in range(253)})


def test_a_layer_may_read_hundreds_of_facts() -> None:
    facts = [boolean(f"fact_{n}") for n in range(600)]
    engine = DurableEngine(pack_of(facts, [rule(fact.name, OneOf(fact.name, (True,))) for fact in facts]))
    with engine.evaluation() as match_layer:
        values = {fact.name: number % 7 == 0 for number, fact in enumerate(facts)}
        assert match_layer(0, values) == {f"fact_{n}" for n in range(0, 600, 7)}
    engine.close()


def test_the_library_can_follow_no_more_than_64_branches_at_once() -> None:
    host = raw_library.host_of([{f"a{n}": 1} for n in range(70)], [])
    raw_library.start(host, "1")
    with pytest.raises(library.durable_rules_engine.error, match="303"):
        host.assert_fact(raw_library.RULESET, {"sid": "1", **{f"a{n}": 1 for n in range(70)}})


def test_hundreds_of_different_rules_may_hold_at_once() -> None:
    facts = [boolean(f"fact_{n}") for n in range(200)]
    either = [Any((OneOf(f.name, (True,)), OneOf(f.name, (False,), negated=True))) for f in facts]
    engine = DurableEngine(pack_of(facts, [rule(f"r{n}", condition) for n, condition in enumerate(either)]))
    with engine.evaluation() as match_layer:
        assert len(match_layer(0, {fact.name: True for fact in facts})) == 200
    engine.close()


def test_a_rule_may_have_many_conditions() -> None:
    facts = [boolean(f"fact_{n}") for n in range(150)]
    engine = DurableEngine(pack_of(facts, [rule("all", All(tuple(OneOf(f.name, (True,)) for f in facts)))]))
    values = {fact.name: True for fact in facts}
    with engine.evaluation() as match_layer:
        assert match_layer(0, values) == {"all"}
    with engine.evaluation() as match_layer:
        assert match_layer(0, {**values, "fact_149": False}) == frozenset()
    engine.close()


def test_the_library_takes_no_more_than_14_alternatives_in_one_rule() -> None:
    pattern = {"$and": [{"$or": [{f"a{n}": 1}, {f"a{n}": 2}]} for n in range(15)]}
    with pytest.raises(library.durable_rules_engine.error, match="113"):
        raw_library.firings(pattern, {"a0": 1})


def test_equal_facts_in_two_evaluations_are_both_answered() -> None:
    host = raw_library.host_of([{"wet": 1}], [])
    raw_library.start(host, "1")
    host.assert_fact(raw_library.RULESET, {"sid": "1", "wet": 1})
    with pytest.raises(library.MessageObservedException):
        host.assert_fact(raw_library.RULESET, {"sid": "1", "wet": 1})
    host.delete_state(raw_library.RULESET, "1")
    engine = DurableEngine(small_pack())
    for _ in range(2):
        with engine.evaluation() as match_layer:
            assert match_layer(0, {"wet": True, "sealed": False}) == {"a", "b"}
    engine.close()


def test_a_layer_asked_for_twice_is_a_fault() -> None:
    engine = DurableEngine(small_pack())
    with engine.evaluation() as match_layer:
        match_layer(0, WET)
        with pytest.raises(EngineFault, match="MessageObserved"):
            match_layer(0, WET)
    engine.close()


def test_a_state_whose_own_message_would_pass_for_a_fact_is_skipped() -> None:
    host = raw_library.host_of([{"wet": 1}], [])
    raw_library.start(host, "5")
    with pytest.raises(library.MessageObservedException):
        host.assert_fact(raw_library.RULESET, {"sid": "5", "id": "sid-5", "wet": 1})
    host.delete_state(raw_library.RULESET, "5")
    states = durable_adapter._state_names(("m0", "sid-2", "sid-3"))
    assert [next(states) for _ in range(3)] == ["1", "4", "5"]
    engine = DurableEngine(small_pack())
    with engine.evaluation() as match_layer:
        match_layer(0, WET)
        kept = {fact["id"] for fact in engine._host.get_facts("pack", engine._state)}
    engine.close()
    assert kept == {"m0", "m1"}


@pytest.mark.parametrize("error", [ValueError("broken"), KeyboardInterrupt(), SystemExit(3)])
def test_an_error_in_an_action_is_not_swallowed(
    error: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = DurableEngine(small_pack())

    def fail(rule_id: str) -> None:
        raise error

    monkeypatch.setattr(engine, "_note", fail)
    with engine.evaluation() as match_layer, pytest.raises(EngineFault, match="exception caught"):
        match_layer(0, WET)
    monkeypatch.undo()
    with engine.evaluation() as match_layer:
        assert match_layer(0, WET) == {"a", "b"}
    engine.close()


def test_rules_left_unfired_after_a_jump_of_the_clock_are_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = DurableEngine(small_pack())
    clock = iter(range(0, 10_000, 11))
    with engine.evaluation() as match_layer:
        monkeypatch.setattr(library, "_unix_now", lambda: next(clock))
        with pytest.raises(EngineFault, match="unfired"):
            match_layer(0, WET)
        monkeypatch.undo()
    with engine.evaluation() as match_layer:
        assert match_layer(0, WET) == {"a", "b"}
    engine.close()


def test_the_library_takes_an_action_with_two_parameters_for_unfinished_and_ours_have_one() -> None:
    fired: list[int] = []
    host = raw_library.QuietHost()
    host.register_rulesets(
        {
            "raw": {
                "r1": {"all": [{"m": {"wet": 1}}], "run": lambda closure, number=1: fired.append(number)},
                "r2": {"all": [{"m": {"wet": 1}}], "run": lambda closure, number=2: fired.append(number)},
            }
        }
    )
    host.assert_fact("raw", {"sid": "1", "wet": 1})
    assert len(fired) == 1
    host.delete_state("raw", "1")
    engine = DurableEngine(small_pack())
    assert {each["run"].__code__.co_argcount for each in engine._ruleset().values()} == {1}
    engine.close()


def test_after_running_out_of_memory_the_state_is_left_and_the_engine_refuses(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    engine = DurableEngine(small_pack())
    deleted: list[str] = []
    monkeypatch.setattr(engine._host, "delete_state", lambda ruleset, sid: deleted.append(sid))

    def fail(ruleset: str, fact: object) -> None:
        raise MemoryError

    with engine.evaluation() as match_layer:
        monkeypatch.setattr(engine._host, "assert_fact", fail)
        with pytest.raises(MemoryError):
            match_layer(0, WET)
    assert deleted == []
    with pytest.raises(EngineClosed, match="restart the process"), engine.evaluation():
        pass
    engine.close()


def test_a_state_that_could_not_be_started_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = DurableEngine(small_pack())
    deleted: list[str] = []
    monkeypatch.setattr(engine._host, "delete_state", lambda ruleset, sid: deleted.append(sid))

    class Interrupted(BaseException):
        """As an interrupt from the keyboard is, which would end the whole test run."""

    def interrupted(ruleset: str, fact: object) -> None:
        raise Interrupted

    monkeypatch.setattr(engine._host, "assert_fact", interrupted)
    with pytest.raises(Interrupted), engine.evaluation():
        pass
    assert deleted == []
    with pytest.raises(EngineClosed, match="could not be started"), engine.evaluation():
        pass
    engine.close()


def test_an_error_of_the_caller_deletes_the_state_and_leaves_the_engine_usable() -> None:
    engine = DurableEngine(small_pack())

    def fail() -> None:
        with engine.evaluation() as match_layer:
            match_layer(0, WET)
            raise MemoryError

    with pytest.raises(MemoryError):
        fail()
    with engine.evaluation() as match_layer:
        assert match_layer(0, WET) == {"a", "b"}
    engine.close()


def test_the_hash_is_the_librarys_own() -> None:
    """The constants stand in the library's sources, for the names it looks for itself."""
    known = {"sid": 3593476751, "id": 926444256, "$forward": 739185624, "all": 321211332, "$or": 340911698}
    assert {name: fnv1a(name) for name in known} == known
