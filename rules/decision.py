"""A decision: what the rules that fired add up to, and which of them asked for what."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from rules.conditions import Value
from rules.pack import Decide, Disposition, Pack, ParameterValue, Rule
from rules.wording import value_in_words

T = TypeVar("T", bound=Value | Disposition)


class PackFault(Exception):
    """The pack itself gives no single answer for some facts; `rules` names those concerned."""

    def __init__(self, message: str, rules: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.rules = rules


@dataclass(frozen=True)
class Reason:
    """Why the disposition is what it is, as shown to people."""

    rule: str
    text: str


@dataclass(frozen=True)
class Setting:
    """A stage parameter fixed by `rules` (all of them agree)."""

    value: ParameterValue
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Decision:
    """Disposition, required stages, settings and cautions, each with the ids of the rules behind it.

    `derived` holds every derived fact, concluded or at its default. Everything is sorted, so equal
    facts give equal decisions.
    """

    disposition: Disposition
    reasons: tuple[Reason, ...]
    derived: Mapping[str, Value]
    stages: Mapping[str, tuple[str, ...]]
    settings: Mapping[tuple[str, str], Setting]
    cautions: Mapping[str, tuple[str, ...]]
    fired: tuple[str, ...]


def decision_from(pack: Pack, fired: Iterable[str], derived: Mapping[str, Value]) -> Decision:
    """Add up the effects of the rules that fired. Raises PackFault on conflict, gap or contradiction."""
    rules = tuple(pack.rules[rule_id] for rule_id in sorted(set(fired)))
    disposition, reasons = _disposition(rules)
    stages = _asked_for(rules, lambda rule: rule.require)
    if disposition is Disposition.REFER and stages:
        askers = tuple(sorted({rule for by in stages.values() for rule in by}))
        raise PackFault("a part that is referred has stages: " + ", ".join(stages), askers)
    return Decision(
        disposition=disposition,
        reasons=reasons,
        derived=dict(sorted(derived.items())),
        stages=stages,
        settings=_settings(rules),
        cautions=_asked_for(rules, lambda rule: rule.cautions),
        fired=tuple(rule.id for rule in rules),
    )


def conclusions(fired: Iterable[Rule], facts: Container[str]) -> dict[str, Value]:
    """What fired rules conclude of `facts`. Raises PackFault when two disagree."""
    claims: dict[str, list[tuple[Rule, Value]]] = {}
    for rule in fired:
        for fact, value in rule.conclude.items():
            if fact in facts:
                claims.setdefault(fact, []).append((rule, value))
    return {fact: _agreed(f"fact '{fact}'", claim)[0] for fact, claim in claims.items()}


def _settings(rules: tuple[Rule, ...]) -> dict[tuple[str, str], Setting]:
    claims: dict[tuple[str, str], list[tuple[Rule, ParameterValue]]] = {}
    for rule in rules:
        for key, value in rule.settings.items():
            claims.setdefault(key, []).append((rule, value))
    return {key: Setting(*_agreed(f"parameter '{key[0]}.{key[1]}'", claims[key])) for key in sorted(claims)}


def _disposition(rules: tuple[Rule, ...]) -> tuple[Disposition, tuple[Reason, ...]]:
    claims = [(rule, rule.decide.disposition) for rule in rules if rule.decide]
    if not claims:
        raise PackFault("no rule decides a disposition")
    disposition, deciders = _agreed("the disposition", claims)
    reasons = tuple(Reason(rule.id, _text(rule.decide)) for rule in rules if rule.id in deciders)
    return disposition, reasons


def _text(decide: Decide | None) -> str:
    return decide.reason if decide else ""


def _agreed(what: str, claims: list[tuple[Rule, T]]) -> tuple[T, tuple[str, ...]]:
    """The one value claimed once overridden rules have given way, and the rules that claim it."""
    yielding = {overridden for rule, _ in claims for overridden in rule.overrides}
    standing = [(rule, value) for rule, value in claims if rule.id not in yielding]
    if len({(type(value), value) for _, value in standing}) != 1:
        names = tuple(sorted(rule.id for rule, _ in standing or claims))
        told = ", ".join(f"{rule.id} says {value_in_words(value)}" for rule, value in standing or claims)
        raise PackFault(f"rules disagree on {what}: {told}", names)
    agreed = standing[0][1]
    return agreed, tuple(rule.id for rule, value in claims if value == agreed)


def _asked_for(
    rules: tuple[Rule, ...], asks: Callable[[Rule], tuple[str, ...]]
) -> dict[str, tuple[str, ...]]:
    askers: dict[str, list[str]] = {}
    for rule in rules:
        for name in asks(rule):
            askers.setdefault(name, []).append(rule.id)
    return {name: tuple(askers[name]) for name in sorted(askers)}
