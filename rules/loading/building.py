"""Builds a `Pack` from the sorted sources of a stack."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from rules.assertions.model import Assertion
from rules.cases.model import Case
from rules.loading.assertions import assertion_of
from rules.loading.bounds import check_amount
from rules.loading.cases import case_of
from rules.loading.cautions import caution_of
from rules.loading.digest import digest_of
from rules.loading.facts import facts_of
from rules.loading.header import closed_lists, header_of
from rules.loading.jurisdictions import jurisdiction_of, outer_ones
from rules.loading.known import Known
from rules.loading.materials import material_of
from rules.loading.overlay import Laid, lay, lay_base
from rules.loading.policies import policy_of
from rules.loading.report import Report
from rules.loading.rules import rule_of
from rules.loading.sections import Source
from rules.loading.stages import stage_of
from rules.loading.substrates import substrate_of
from rules.pack import Pack
from rules.vocabulary import Vocabulary

_NEEDED = ("facts", "substrates", "stages", "cautions", "materials", "rules")


@dataclass(frozen=True)
class Built:
    """A pack, its layers not yet found, the cases of the uppermost source, and all assertions."""

    pack: Pack | None = None
    cases: tuple[Case, ...] = ()
    assertions: tuple[Assertion, ...] = ()


def build(sources: Sequence[Source], stack: Sequence[Mapping[str, str]], report: Report) -> Built:
    """The pack, and what is asked of it; nothing where the report has any finding."""
    names = [source.name for source in sources]
    headers = [header_of(source, names[:number], report) for number, source in enumerate(sources)]
    if report.incomplete:
        return Built()
    laid = _laid(sources, report)
    lists = closed_lists(sources[0], report)
    check_amount(laid.sections, sources[-1].place, report)
    if report.incomplete:
        return Built()
    known = _known(laid, lists, report)
    sections = laid.sections
    rules = {name: rule_of(entry, known, report) for name, entry in sections["rules"].items()}
    cautions = {name: caution_of(entry, report) for name, entry in sections["cautions"].items()}
    materials = {name: material_of(entry, known, report) for name, entry in sections["materials"].items()}
    jurisdictions = {
        name: jurisdiction_of(entry, known, report) for name, entry in sections["jurisdictions"].items()
    }
    policies = {name: policy_of(entry, known, report) for name, entry in sections["policies"].items()}
    substrates = {name: substrate_of(entry, known, report) for name, entry in sections["substrates"].items()}
    cases = tuple(case_of(entry, known, report) for entry in sections["cases"].values())
    assertions = tuple(assertion_of(entry, known, report) for entry in sections["assertions"].values())
    header = headers[-1]
    if report.findings or header.effective_from is None:
        return Built()
    files = {name: dict(texts) for name, texts in zip(names, stack, strict=True)}
    pack = Pack(
        name=header.name,
        version=header.version,
        title=header.title,
        digest=digest_of(files),
        effective_from=header.effective_from,
        effective_until=header.effective_until,
        vocabulary=Vocabulary(known.facts),
        phases=tuple(known.phases),
        resources=tuple(known.resources),
        labour=tuple(known.labour),
        rules=rules,
        stages=known.stages,
        cautions=cautions,
        materials=materials,
        substrates=substrates,
        layers=(),
        files=files,
        withdrawn=laid.withdrawn,
        jurisdictions=jurisdictions,
        policies=policies,
    )
    return Built(pack, cases, assertions)


def _laid(sources: Sequence[Source], report: Report) -> Laid:
    base = sources[0]
    for kind in _NEEDED:
        if not base.sections[kind]:
            report.add_gap("R019", base.place, f"a base pack needs '{kind}'; add '{kind}:' with at least one")
    laid = lay_base(base, report)
    for source in sources[1:]:
        laid = lay(laid, source, report)
    return laid


def _known(laid: Laid, lists: Mapping[str, tuple[str, ...]], report: Report) -> Known:
    """All names first, then the facts, then the stages: rules and cases refer to all of them."""
    sections = laid.sections
    known = Known(
        fact_names=sections["facts"].keys(),
        stage_names=sections["stages"].keys(),
        cautions=sections["cautions"].keys(),
        materials=sections["materials"].keys(),
        outer_jurisdictions=outer_ones(sections["jurisdictions"]),
        # A rule that stays may still name one that was withdrawn.
        rules=sections["rules"].keys() | laid.withdrawn.keys(),
        facts=facts_of(sections["facts"], report),
        phases=lists["phases"],
        resources=lists["resources"],
        labour=lists["labour"],
    )
    stages = {name: stage_of(entry, known, report) for name, entry in sections["stages"].items()}
    return replace(known, stages=stages)
