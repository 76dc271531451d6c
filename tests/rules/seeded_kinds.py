"""Mistakes that people make in rule files: every way to plant one of a kind into the base pack.

A way is one edit of one thing in one file. The order of ways is that of files and things, so that a
seed picks the same ones in every run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from seeded_plantings import GONE, TWICE, Address, Planting, Thing, declared_facts, parsed

Way = tuple[Address, Any]
"""An address inside a thing, and what is written there."""


@cache
def plantings(kind: str) -> tuple[Planting, ...]:
    """Every way to plant a mistake of a kind."""
    section, ways = KINDS[kind]
    return tuple(
        Planting(kind, path, (section, key, *address), new)
        for path, file in parsed().items()
        for key, thing in _entries(file.get(section, []))
        for address, new in ways(thing)
    )


def _entries(things: Any) -> Iterator[tuple[Any, Thing]]:
    yield from things.items() if isinstance(things, dict) else enumerate(things)


def _tests(block: Any, address: Address = ("when",)) -> Iterator[tuple[Address, str, Any]]:
    """Every test of a fact in a condition: its address, the fact, and what is tested."""
    if isinstance(block, dict):
        for name, wanted in block.items():
            if name == "any":
                for number, part in enumerate(wanted):
                    yield from _tests(part, (*address, "any", number))
            else:
                yield (*address, name), name, wanted


def _drop(thing: Thing) -> Iterator[Way]:
    yield (), GONE


def _duplicate(thing: Thing) -> Iterator[Way]:
    yield (), TWICE


def _drop_test(rule: Thing) -> Iterator[Way]:
    for address, _, _ in _tests(rule["when"]):
        *above, _last = address
        block = rule
        for step in above:
            block = block[step]
        yield (address, GONE) if len(block) > 1 else (("when",), "always")


def _other_value(rule: Thing) -> Iterator[Way]:
    for address, name, wanted in _tests(rule["when"]):
        yield from ((address, other) for other in _others(name, wanted))


def _others(name: str, value: Any) -> list[Any]:
    """Other values of a fact than one that is tested, concluded or assumed."""
    if isinstance(value, bool):
        return [not value]
    return [
        other
        for other in declared_facts()[name].get("values", {})
        if isinstance(value, str) and other != value
    ][:2]


def _negate(rule: Thing) -> Iterator[Way]:
    for address, _, wanted in _tests(rule["when"]):
        denied = isinstance(wanted, dict) and "not" in wanted
        yield address, wanted["not"] if denied else {"not": wanted}


def _move_cut_point(rule: Thing) -> Iterator[Way]:
    for address, name, wanted in _tests(rule["when"]):
        for bound in ("at_least", "below"):
            if isinstance(wanted, dict) and bound in wanted:
                points = declared_facts()[name]["cut_points"]
                at = points.index(wanted[bound])
                yield from (
                    ((*address, bound), points[to]) for to in (at - 1, at + 1) if 0 <= to < len(points)
                )


def _confuse_property(rule: Thing) -> Iterator[Way]:
    """Read the truth value of another property of the material."""
    properties = [
        name
        for name, fact in declared_facts().items()
        if fact.get("origin") == "substrate" and fact["kind"] == "boolean"
    ]
    for address, name, wanted in _tests(rule["when"]):
        if name in properties:
            *above, _last = address
            block = rule
            for step in above:
                block = block[step]
            rest = {other: value for other, value in block.items() if other != name}
            yield from ((tuple(above), {**rest, other: wanted}) for other in properties if other not in block)


def _drop_from(member: str) -> Callable[[Thing], Iterator[Way]]:
    """Take one item out of a list, and the list with its last."""

    def ways(thing: Thing) -> Iterator[Way]:
        items = thing.get(member, [])
        for number in range(len(items)):
            yield ((member, number), GONE) if len(items) > 1 else ((member,), GONE)

    return ways


def _conclude_differently(rule: Thing) -> Iterator[Way]:
    for name, value in rule.get("conclude", {}).items():
        yield from ((("conclude", name), other) for other in _others(name, value))


def _set_differently(rule: Thing) -> Iterator[Way]:
    for name, value in rule.get("set", {}).items():
        if not isinstance(value, str):
            yield ("set", name), value + 1
        yield (("set", name), GONE) if len(rule["set"]) > 1 else (("set",), GONE)


def _decide_differently(rule: Thing) -> Iterator[Way]:
    decide = rule.get("decide")
    for other in ("repair", "replace", "refer") if decide else ():
        if other != decide["disposition"]:
            yield ("decide", "disposition"), other


def _drop_decision(rule: Thing) -> Iterator[Way]:
    if "decide" in rule:
        yield ("decide",), GONE


def _shrink_window(stage: Thing) -> Iterator[Way]:
    if _waits_by_the_air(stage):
        yield ("window", "not_after_min"), stage["window"]["not_before_min"]


def _lengthen_wait(stage: Thing) -> Iterator[Way]:
    if _waits_by_the_air(stage):
        yield ("wait", "minutes"), stage["window"]["not_after_min"]


def _waits_by_the_air(stage: Thing) -> bool:
    """Whether a window that closes as soon as the wait is over is missed in some air."""
    return bool(stage.get("window")) and stage.get("wait", {}).get("kinetics", "fixed") != "fixed"


def _bake_hotter(rule: Thing) -> Iterator[Way]:
    for name, value in rule.get("set", {}).items():
        if name.endswith(".temperature_c"):
            yield from ((("set", name), value + more) for more in (10, 20))
    if "bake" in rule.get("conclude", {}):
        hotter = {"at_40": ["at_50", "at_60"], "at_50": ["at_60"]}.get(rule["conclude"]["bake"], [])
        yield from ((("conclude", "bake"), value) for value in hotter)


def _bake_hotter_by_default(stage: Thing) -> Iterator[Way]:
    if "temperature_c" in stage.get("parameters", {}):
        yield from ((("parameters", "temperature_c"), hotter) for hotter in (50, 60))


def _apply_elsewhere(fact: Thing) -> Iterator[Way]:
    for address, _, wanted in _tests(fact.get("applies_when"), ("applies_when",)):
        listed = wanted["not"] if isinstance(wanted, dict) else wanted
        yield address, listed if isinstance(wanted, dict) else {"not": wanted}
        if isinstance(listed, list):
            for left_out in listed:
                rest = [each for each in listed if each != left_out]
                yield address, {"not": rest} if isinstance(wanted, dict) else rest


def _misroute_property(stage: Thing) -> Iterator[Way]:
    routed = stage.get("from_substrate", {})
    for parameter, fact in routed.items():
        others = {*routed.values(), "bake_limit_c"} - {fact}
        yield from ((("from_substrate", parameter), other) for other in sorted(others))


def _default_differently(fact: Thing) -> Iterator[Way]:
    for name, each in declared_facts().items():
        if each is fact and fact.get("origin") == "rules":
            yield from ((("default",), other) for other in _others(name, fact["default"]))


KINDS: Mapping[str, tuple[str, Callable[[Thing], Iterator[Way]]]] = {
    "drop a rule": ("rules", _drop),
    "duplicate a rule": ("rules", _duplicate),
    "drop a condition": ("rules", _drop_test),
    "test another value": ("rules", _other_value),
    "negate a condition": ("rules", _negate),
    "move a cut point": ("rules", _move_cut_point),
    "confuse two properties": ("rules", _confuse_property),
    "drop a requirement": ("rules", _drop_from("require")),
    "drop a caution of a rule": ("rules", _drop_from("caution")),
    "conclude differently": ("rules", _conclude_differently),
    "set differently": ("rules", _set_differently),
    "decide differently": ("rules", _decide_differently),
    "drop a decision": ("rules", _drop_decision),
    "bake hotter": ("rules", _bake_hotter),
    "bake hotter by default": ("stages", _bake_hotter_by_default),
    "drop a caution of a stage": ("stages", _drop_from("cautions")),
    "drop an 'after'": ("stages", _drop_from("after")),
    "shrink a window": ("stages", _shrink_window),
    "lengthen a wait until the window closes": ("stages", _lengthen_wait),
    "misroute a property": ("stages", _misroute_property),
    "apply a fact elsewhere": ("facts", _apply_elsewhere),
    "default differently": ("facts", _default_differently),
}
