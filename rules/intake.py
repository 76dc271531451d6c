"""From the facts a caller gives to a complete, typed set of facts, or to a list of faults.

No value is converted, none is silently false: what is not given takes its declared default and is
reported as an assumption, or is missing and refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.conditions import Value, facts_read
from rules.pack import Pack, Substrate
from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin


@dataclass(frozen=True)
class Assumption:
    """A fact that was not given and took its cautious default."""

    fact: str
    value: Value
    given_as: str | None


@dataclass(frozen=True)
class FactFault:
    """A fact that can't be used: which, where it is given, the value read, why, and what is accepted."""

    fact: str
    given_as: str | None
    value: object
    detail: str
    accepted: tuple[Value, ...] = ()


class FactsRefused(ValueError):
    """At least one fact is missing, of a wrong type, out of range or not declared."""

    def __init__(self, faults: tuple[FactFault, ...]) -> None:
        super().__init__("; ".join(f"{fault.fact}: {fault.detail}" for fault in faults))
        self.faults = faults


@dataclass(frozen=True)
class CompleteFacts:
    """Every fact of the line item and of the substrate, typed; `assumptions` lists the defaults taken."""

    values: Mapping[str, Value]
    assumptions: tuple[Assumption, ...]


def complete(pack: Pack, substrate: Substrate, given: Mapping[str, object]) -> CompleteFacts:
    """Check `given` against the pack's vocabulary and fill in what may be assumed.

    Raises FactsRefused with every fault found, not only the first.
    """
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    declared = {fact.name for fact in facts}
    faults = [
        FactFault(name, None, value, "is not a fact of a line item", tuple(sorted(declared)))
        for name, value in given.items()
        if name not in declared
    ]
    values: dict[str, Value] = dict(substrate.properties)
    assumptions: list[Assumption] = []
    for fact in _conditional_last(facts):
        outcome = _value_of(pack, fact, given, values)
        match outcome:
            case FactFault():
                faults.append(outcome)
            case Assumption():
                assumptions.append(outcome)
                values[fact.name] = outcome.value
            case None:
                pass
            case _:
                values[fact.name] = outcome
    if faults:
        raise FactsRefused(tuple(faults))
    return CompleteFacts(values, tuple(assumptions))


def _conditional_last(facts: tuple[Fact, ...]) -> list[Fact]:
    """Facts that always apply, then those whose `applies_when` reads others."""
    return sorted(facts, key=lambda fact: fact.applies_when is not None)


def _value_of(
    pack: Pack, fact: Fact, given: Mapping[str, object], values: Mapping[str, Value]
) -> Value | Assumption | FactFault | None:
    """The value of one fact; None when a fact that it hangs on is itself at fault."""
    value = given.get(fact.name)
    condition = fact.applies_when
    if condition is not None:
        if not facts_read(condition) <= values.keys():
            return None
        if not holds(condition, values):
            return _when_not_applicable(fact, value)
    if value is None:
        if fact.default is not None:
            return Assumption(fact.name, fact.default, fact.given_as)
        return FactFault(fact.name, fact.given_as, None, _missing(pack, fact), tuple(fact.values))
    fault = fact.fault_of(value)
    if fault is None and fact.kind is Kind.ENUMERATION and value not in fact.values:
        fault = "must be one of " + ", ".join(fact.values)
    if fault is not None:
        return FactFault(fact.name, fact.given_as, value, fault, tuple(fact.values))
    return typed(fact, value)


def _when_not_applicable(fact: Fact, value: object) -> Value | FactFault:
    assert fact.otherwise is not None
    if value is None or (fact.fault_of(value) is None and typed(fact, value) == fact.otherwise):
        return fact.otherwise
    detail = "does not apply to these facts; leave it out"
    return FactFault(fact.name, fact.given_as, value, detail)


def typed(fact: Fact, value: object) -> Value:
    """A checked value in the type that conditions compare: numbers become floats."""
    if fact.kind is Kind.NUMBER:
        assert isinstance(value, (int, float))
        return float(value)
    assert isinstance(value, (str, bool))
    return value


def _missing(pack: Pack, fact: Fact) -> str:
    readers = sum(fact.name in facts_read(rule.when) for rule in pack.rules.values())
    return f"is missing and has no safe default; {readers} rules depend on it. {fact.about}"
