"""Lays an overlay on the pack below it, node by node, before anything is read closely.

A changed thing is then read and checked like a new one, and every line of it keeps the place at
which it was written.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from rules.loading.nodes import Members
from rules.loading.phrases import quoted
from rules.loading.report import Report
from rules.loading.row import Row
from rules.loading.sections import AMENDABLE, HEADER, NAMED_BY, Entry, Sections, Source, no_sections
from rules.loading.values import is_known
from rules.places import Place

_UNKNOWN = {
    "stages": "R116",
    "cautions": "R118",
    "materials": "R119",
    "substrates": "R132",
    "jurisdictions": "R135",
    "policies": "R136",
}
_WITHDRAWABLE = {"rule": ("rules", "R121"), "policy": ("policies", "R136")}
"""The member of an item of `withdraw`, the kind of thing, and the code of an unknown one."""


@dataclass
class Laid:
    """The sections of a stack as far as it has been laid."""

    sections: Sections = field(default_factory=no_sections)
    withdrawn: dict[str, tuple[Place, str]] = field(default_factory=dict)


def lay_base(source: Source, report: Report) -> Laid:
    """The lowest pack of a stack, which has nothing below it to change."""
    for node in source.withdrawals:
        told = "there is no pack below to withdraw from; delete the rule itself, or the policy"
        report.add("R144", node.place, told)
    for kind in AMENDABLE:
        for entry in source.amendments[kind].values():
            told = f"there is no pack below in which to amend {quoted(entry.name)}; change it where it stands"
            report.add("R144", entry.place, told)
    return Laid(source.sections)


def lay(below: Laid, source: Source, report: Report) -> Laid:
    """`source` laid on what is below it."""
    for key in HEADER[1:]:
        if key in source.header:
            told = f"'{key}' is fixed by the base pack; take it away here"
            report.add("R142", source.header[key].place, told)
    sections = {
        kind: _amended(below.sections[kind], source.amendments[kind], kind, report) for kind in NAMED_BY
    }
    withdrawn = _withdrawn(below.sections, source, report)
    for kind, names in withdrawn.items():
        for name in names:
            del sections[kind][name]
    # An overlay's cases say what it changes; those of the pack below need not hold any more.
    sections["cases"] = {}
    for kind in NAMED_BY:
        _add(sections[kind], source.sections[kind], kind, below, report)
    return Laid(sections, below.withdrawn | withdrawn["rules"])


def _add(section: dict[str, Entry], own: dict[str, Entry], kind: str, below: Laid, report: Report) -> None:
    for entry in own.values():
        first = section.get(entry.name) or (
            below.sections["rules"].get(entry.name) if kind == "rules" else None
        )
        if first is None:
            section[entry.name] = entry
            continue
        told = f"{quoted(entry.name)} is there already, in pack '{first.place.pack}' at {first.place}"
        report.add("R141", entry.place, f"{told}; {_way_to_change(kind)}")


def _way_to_change(kind: str) -> str:
    if kind in AMENDABLE:
        return f"use 'amend: {{{kind}: ...}}' to change it"
    if kind == "rules":
        return "'withdraw' the rule and give yours another id"
    return "give yours another name"


def _amended(
    section: dict[str, Entry], changes: dict[str, Entry], kind: str, report: Report
) -> dict[str, Entry]:
    amended = dict(section)
    for name, change in changes.items():
        if not is_known(name, change.place, _singular(kind), section, _UNKNOWN[kind], report):
            continue
        own_name = change.node.keys.get(NAMED_BY[kind])
        if own_name is not None:
            report.add("R142", own_name, f"a name stays as it is; take '{NAMED_BY[kind]}' away")
            continue
        amended[name] = Entry(name, _merged(section[name].node, change.node), change.place)
    return amended


def _singular(kind: str) -> str:
    return "policy" if kind == "policies" else kind.removesuffix("s")


def _merged(below: Members, above: Members) -> Members:
    """Members of `above` replace those of `below`; mappings among them are merged in turn."""
    nodes = dict(below.nodes)
    for name, node in above.nodes.items():
        under = nodes.get(name)
        if isinstance(under, Members) and isinstance(node, Members):
            node = _merged(under, node)
        nodes[name] = node
    return Members(above.place, nodes, below.keys | above.keys)


def _withdrawn(sections: Sections, source: Source, report: Report) -> dict[str, dict[str, tuple[Place, str]]]:
    """By kind of thing, what is withdrawn: its name, and where and why."""
    withdrawn: dict[str, dict[str, tuple[Place, str]]] = {kind: {} for kind, _ in _WITHDRAWABLE.values()}
    for node in source.withdrawals:
        member = "policy" if isinstance(node, Members) and "policy" in node.nodes else "rule"
        kind, code = _WITHDRAWABLE[member]
        row = Row(node, "an item of 'withdraw'", report, (member, "why"))
        name, why = row.reference(member, member, sections[kind], code), row.text("why")
        if not name:
            continue
        if name in withdrawn[kind]:
            report.add("R143", row.place, f"{quoted(name)} is withdrawn a second time; take one away")
        withdrawn[kind][name] = (row.place, why)
    return withdrawn
