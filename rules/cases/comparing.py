"""Compares a decision with what a case expects of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rules.cases.model import Case
from rules.decision import Decision
from rules.findings import Finding
from rules.pack import Pack, ParameterValue, Stage, Substrate
from rules.wording import value_in_words


def differences(
    pack: Pack, case: Case, substrate: Substrate, decision: Decision, order: Sequence[str]
) -> Iterator[Finding]:
    """What differs, member by member of `expect`; `order` are the required stages in working order."""
    expected = case.expected
    if expected.disposition not in (None, decision.disposition):
        reasons = ", ".join(reason.rule for reason in decision.reasons)
        told = f"disposition {decision.disposition.value}, by {reasons}"
        yield _differs(case, "R401", "disposition", expected.disposition.value, told)
    for stage in expected.present:
        if stage not in decision.stages:
            yield _differs(case, "R402", "present", stage, f"no such stage among {_listed(order)}")
    for stage in expected.absent:
        if stage in decision.stages:
            told = f"it is required by {', '.join(decision.stages[stage])}"
            yield _differs(case, "R403", "absent", f"no {stage}", told)
    came = [stage for stage in order if stage in expected.order]
    if came != list(expected.order):
        yield _differs(case, "R404", "order", _listed(expected.order), _listed(came))
    yield from _parameters(pack, case, substrate, decision)
    for caution in expected.cautions:
        if caution not in _cautions(pack, decision):
            told = f"cautions {_listed(sorted(_cautions(pack, decision)))}"
            yield _differs(case, "R406", "cautions", caution, told)


def _parameters(pack: Pack, case: Case, substrate: Substrate, decision: Decision) -> Iterator[Finding]:
    for (stage, name), wanted in case.expected.parameters.items():
        what = f"{stage}.{name} {value_in_words(wanted)}"
        if stage not in decision.stages:
            yield _differs(case, "R405", "parameters", what, "the stage is not required")
            continue
        value = _parameter(pack.stages[stage], name, substrate, decision)
        if value != wanted:
            setting = decision.settings.get((stage, name))
            by = f", set by {', '.join(setting.rules)}" if setting else ", as in the catalogue"
            yield _differs(case, "R405", "parameters", what, value_in_words(value) + by)


def _parameter(stage: Stage, name: str, substrate: Substrate, decision: Decision) -> ParameterValue | None:
    """What the substrate fixes goes before what rules set, and that before the catalogue."""
    if name in stage.from_substrate:
        return substrate.properties[stage.from_substrate[name]]
    setting = decision.settings.get((stage.id, name))
    if setting is not None:
        return setting.value
    return stage.parameters.get(name, _timing(stage, name))


def _timing(stage: Stage, name: str) -> float | None:
    window = stage.window
    timings = {
        "wait_min": stage.wait.minutes,
        "not_before_min": window.not_before_min if window else None,
        "not_after_min": window.not_after_min if window else None,
    }
    return timings.get(name)


def _cautions(pack: Pack, decision: Decision) -> set[str]:
    """The cautions of the decision and those that its stages bring along."""
    of_stages = {caution for stage in decision.stages for caution in pack.stages[stage].cautions}
    return of_stages.union(decision.cautions)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def _differs(case: Case, code: str, member: str, expected: str, came: str) -> Finding:
    told = f"case '{case.name}' expects {expected}; it came out otherwise: {came}"
    return Finding(code, case.place_of(member), f"{told}; mend the rule, or what the case expects")
