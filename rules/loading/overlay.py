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

_UNKNOWN = {"stages": "R116", "cautions": "R118", "materials": "R119", "substrates": "R132"}


@dataclass
class Laid:
    """The sections of a stack as far as it has been laid."""

    sections: Sections = field(default_factory=no_sections)
    withdrawn: dict[str, tuple[Place, str]] = field(default_factory=dict)


def lay_base(source: Source, report: Report) -> Laid:
    """The lowest pack of a stack, which has nothing below it to change."""
    for node in source.withdrawals:
        report.add(
            "R144", node.place, "there is no pack below to withdraw a rule from; delete the rule itself"
        )
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
    withdrawn = _withdrawn(below.sections["rules"], source, report)
    for rule_id in withdrawn:
        del sections["rules"][rule_id]
    # An overlay's cases say what it changes; those of the pack below need not hold any more.
    sections["cases"] = {}
    for kind in NAMED_BY:
        _add(sections[kind], source.sections[kind], kind, below, report)
    return Laid(sections, below.withdrawn | withdrawn)


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
        if not is_known(name, change.place, kind.removesuffix("s"), section, _UNKNOWN[kind], report):
            continue
        own_name = change.node.keys.get(NAMED_BY[kind])
        if own_name is not None:
            report.add("R142", own_name, f"a name stays as it is; take '{NAMED_BY[kind]}' away")
            continue
        amended[name] = Entry(name, _merged(section[name].node, change.node), change.place)
    return amended


def _merged(below: Members, above: Members) -> Members:
    """Members of `above` replace those of `below`; mappings among them are merged in turn."""
    nodes = dict(below.nodes)
    for name, node in above.nodes.items():
        under = nodes.get(name)
        if isinstance(under, Members) and isinstance(node, Members):
            node = _merged(under, node)
        nodes[name] = node
    return Members(above.place, nodes, below.keys | above.keys)


def _withdrawn(rules: dict[str, Entry], source: Source, report: Report) -> dict[str, tuple[Place, str]]:
    withdrawn: dict[str, tuple[Place, str]] = {}
    for node in source.withdrawals:
        row = Row(node, "an item of 'withdraw'", report, ("rule", "why"))
        rule_id, why = row.reference("rule", "rule", rules, "R121"), row.text("why")
        if not rule_id:
            continue
        if rule_id in withdrawn:
            report.add("R143", row.place, f"{quoted(rule_id)} is withdrawn a second time; take one away")
        withdrawn[rule_id] = (row.place, why)
    return withdrawn
