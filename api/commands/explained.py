"""A pack's decision on given facts, with everything behind it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import BinaryIO

import click

from api.commands.packs import decider_of
from planning.order import StageCircle, ordered
from rules.decision import Decision, PackFault
from rules.explain import Explanation, explain, part_of
from rules.intake import CompleteFacts, FactFault, FactsRefused, complete
from rules.loading.phrases import did_you_mean, quoted
from rules.materials.resolve import MaterialUnknown, resolve
from rules.pack import Pack, Substrate
from rules.proof.change import Changes
from schemas.explanation import explanation_of
from schemas.faults import Fault
from schemas.strict_json import MalformedJson, read_json


@dataclass(frozen=True)
class Explained:
    """A decision and everything behind it; `order` are its stages in working order."""

    pack: Pack
    substrate: Substrate
    facts: CompleteFacts
    decision: Decision
    order: tuple[str, ...]
    explanation: Explanation


def facts_in(file: BinaryIO) -> Mapping[str, object]:
    """The members of a file with one JSON object. Raises ClickException that names the file."""
    name = getattr(file, "name", "standard input")
    try:
        given = read_json(file.read())
    except MalformedJson as error:
        raise click.ClickException(f"{name}: {error}") from error
    if not isinstance(given, dict) or not isinstance(given.get("material"), str):
        told = 'must be an object with a material and facts by name, such as {"material": "TPO"}'
        raise click.ClickException(f"{name}: {told}")
    return given


def explained_by(pack: Pack, given: Mapping[str, object]) -> Explained:
    """What `pack` decides on `given` and why. Raises ClickException for facts or a pack at fault."""
    stated = {name: value for name, value in given.items() if name != "material"}
    try:
        substrate = resolve(pack, str(given["material"]))
        facts = complete(pack, substrate, stated)
        decision = decider_of(pack).decide(facts.values)
        order = ordered(pack.stages, decision.stages, pack.phases)
    except MaterialUnknown as error:
        raise click.ClickException(f"material {error}") from error
    except FactsRefused as error:
        raise click.ClickException("\n  ".join(map(_fault_in_words, error.faults))) from error
    except (PackFault, StageCircle) as error:
        raise click.ClickException(f"the pack '{pack.name}' gives no single answer: {error}") from error
    return Explained(pack, substrate, facts, decision, order, explain(pack, facts.values, decision))


def about_rule(explained: Explained, rule: str) -> Explained:
    """The part of one rule in it. Raises BadParameter for a rule that the pack does not have."""
    pack = explained.pack
    if rule not in pack.rules:
        hint = did_you_mean(rule, pack.rules) or f"; the pack '{pack.name}' has {len(pack.rules)} others"
        raise click.BadParameter(f"there is no rule {quoted(rule)}{hint}", param_hint="--rule")
    silent = rule not in explained.decision.fired
    change = Changes(pack).smallest(rule, explained.substrate, explained.facts.values) if silent else None
    return replace(explained, explanation=part_of(rule, explained.explanation, change))


def as_json(explained: Explained) -> str:
    """The decision, and the explanation as the service writes it."""
    explanation = explanation_of(explained.explanation, "", explained.pack)
    del explanation["procedure"]
    decision = {
        "material": explained.substrate.symbol,
        "disposition": explained.decision.disposition.value,
        "reasons": [asdict(reason) for reason in explained.decision.reasons],
        "order": list(explained.order),
        "assumptions": [assumption.fact for assumption in explained.facts.assumptions],
    }
    return json.dumps({"decision": decision, "explanation": explanation}, indent=2, ensure_ascii=False)


def _fault_in_words(fault: FactFault) -> str:
    detail = Fault(fault.fact, fault.detail, fault.value, fault.accepted).as_error()["detail"]
    read = "" if fault.value is None else f" (read: {json.dumps(fault.value)[:80]})"
    return f"fact '{fault.fact}' {detail}{read}"
