"""Sorts what the files of one pack hold by kind of thing, before any of it is read closely."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rules.loading.composing import compose
from rules.loading.nodes import Members, Node
from rules.loading.phrases import did_you_mean, quoted
from rules.loading.report import Report
from rules.loading.values import items_of, members_of, text_of
from rules.places import Place

HEADER_FILE = "pack.yaml"
HEADER = ("pack", "phases", "resources", "labour")
# The member that names a thing of each kind; facts alone are a mapping from name to fact.
NAMED_BY = {
    "facts": "",
    "substrates": "symbol",
    "stages": "id",
    "cautions": "id",
    "materials": "id",
    "jurisdictions": "id",
    "policies": "id",
    "rules": "id",
    "cases": "name",
    "assertions": "id",
}
AMENDABLE = ("stages", "cautions", "materials", "substrates", "jurisdictions", "policies")
_CHANGES = ("amend", "withdraw")
# Read by `rules.materials.identification`: it says how to tell a material, and no rule depends on it.
IDENTIFICATION = "identification"


@dataclass(frozen=True)
class Entry:
    """One named thing as written; `place` is where it begins."""

    name: str
    node: Members
    place: Place


Sections = dict[str, dict[str, Entry]]
"""Kind of thing -> name -> entry, in the order of the files' paths and then as written."""


def no_sections() -> Sections:
    """A section for every kind, with nothing in it."""
    return {kind: {} for kind in NAMED_BY}


@dataclass
class Source:
    """One pack of a stack, sorted: its header nodes, its own things and its changes to the pack below."""

    name: str
    header: dict[str, Node] = field(default_factory=dict)
    sections: Sections = field(default_factory=no_sections)
    amendments: Sections = field(default_factory=no_sections)
    withdrawals: list[Node] = field(default_factory=list)

    @property
    def place(self) -> Place:
        """Where the pack says who it is."""
        node = self.header.get("pack")
        return node.place if node else Place(HEADER_FILE, 1, 1, self.name)


def source_of(files: Mapping[str, str], name: str, report: Report) -> Source:
    """Everything in the files of one pack. No file hides another: a repeated name is a fault."""
    source = Source(name)
    for path in sorted(files):
        root = compose(files[path], path, name, report)
        if root is None:
            continue
        members = members_of(root, "a file", report)
        for key, node in members.nodes.items():
            _sort(source, path, key, members.keys[key], node, report)
    return source


def _sort(source: Source, path: str, key: str, place: Place, node: Node, report: Report) -> None:
    if key in HEADER:
        if path == HEADER_FILE:
            source.header[key] = node
        else:
            report.add_gap("R017", place, f"'{key}' stands in {HEADER_FILE} alone; move it there")
    elif key in NAMED_BY:
        _gather(source.sections[key], key, node, report)
    elif key == "amend":
        kinds = members_of(node, "'amend'", report)
        for kind, kind_node in kinds.nodes.items():
            _gather_amendments(source, kind, kinds.keys[kind], kind_node, report)
    elif key == "withdraw":
        source.withdrawals.extend(items_of(node, "'withdraw'", report))
    elif key == IDENTIFICATION:
        if path.split("/")[0].removesuffix(".yaml") != IDENTIFICATION:
            report.add_gap(
                "R017", place, f"'{key}' stands in {key}.yaml or {key}/*.yaml alone; move it there"
            )
    else:
        known = (*HEADER, *NAMED_BY, *_CHANGES, IDENTIFICATION)
        report.add_gap("R017", place, f"no kind of thing is called {quoted(key)}{did_you_mean(key, known)}")


def _gather_amendments(source: Source, kind: str, place: Place, node: Node, report: Report) -> None:
    if kind in AMENDABLE:
        _gather_mapping(source.amendments[kind], kind, node, "R143", report)
        return
    hint = did_you_mean(kind, AMENDABLE)
    if kind == "rules":
        hint = "; withdraw the rule and write another under a new id"
    report.add("R142", place, f"{quoted(kind)} cannot be amended{hint}")


def _gather(section: dict[str, Entry], kind: str, node: Node, report: Report) -> None:
    member = NAMED_BY[kind]
    if not member:
        _gather_mapping(section, kind, node, "R107", report)
        return
    for item in items_of(node, f"'{kind}'", report):
        fields = members_of(item, f"an item of '{kind}'", report)
        if fields is not item:
            continue
        if member not in fields.nodes:
            told = f"an item of '{kind}' lacks '{member}'; add the line '{member}: ...'"
            report.add_gap("R102", item.place, told)
            continue
        name = text_of(fields.nodes[member], f"'{member}'", report)
        if name:
            _enter(section, Entry(name, fields, item.place), kind, "R107", report)


def _gather_mapping(section: dict[str, Entry], kind: str, node: Node, code: str, report: Report) -> None:
    members = members_of(node, f"'{kind}'", report)
    for name, value in members.nodes.items():
        fields = members_of(value, f"{quoted(name)} in '{kind}'", report)
        if fields is value:
            _enter(section, Entry(name, fields, members.keys[name]), kind, code, report)


def _enter(section: dict[str, Entry], entry: Entry, kind: str, code: str, report: Report) -> None:
    first = section.get(entry.name)
    if first is None:
        section[entry.name] = entry
        return
    told = f"{quoted(entry.name)} stands in '{kind}' a second time; the first is at {first.place}"
    mend = "put both into one" if code == "R143" else "keep one of them, or give this one another name"
    report.add(code, entry.place, f"{told}; {mend}")
