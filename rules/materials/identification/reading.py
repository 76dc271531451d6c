"""Reads `identification.yaml` of a loaded pack into tables for its rows of the substrate table."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

from rules.findings import Finding
from rules.loading.checked import PackRefused
from rules.loading.composing import compose
from rules.loading.nodes import Node
from rules.loading.report import Report, TooManyFindings
from rules.loading.row import Row
from rules.materials.identification.declared import bench_tests_of, never_of, priors_of, settings_of
from rules.materials.identification.likelihoods import likelihoods_of
from rules.materials.identification.model import Tables
from rules.materials.identification.questions import of_properties, properties_seen
from rules.materials.resolve import UNKNOWN
from rules.pack import Pack
from rules.places import Place
from rules.vocabulary import Kind, Origin

KEY = "identification"
"""The one key at the top of the files read here."""

LISTS = ("tests", "likelihoods", "priors", "never")


@dataclass
class Written:
    """What the files of a pack and its overlays say, lists joined; `settings` are of the uppermost."""

    settings: Node | None = None
    lists: dict[str, list[Node]] = field(default_factory=lambda: {name: [] for name in LISTS})


def load_tables(pack: Pack) -> Tables:
    """The tables of a pack. Raises PackRefused with every fault found."""
    report = Report()
    tables: Tables | None = None
    with suppress(TooManyFindings):
        tables = _tables(pack, report)
    if report.findings or tables is None:
        raise PackRefused(report.findings)
    return tables


def tables_where_given(pack: Pack) -> Tables | None:
    """The tables of a pack, None for a pack that has none. Raises PackRefused with every fault found."""
    given = any(_is_of_tables(path) for files in pack.files.values() for path in files)
    return load_tables(pack) if given else None


def check_tables(pack: Pack) -> tuple[Finding, ...]:
    """What is wrong with the tables of a pack; nothing where they can be used."""
    try:
        load_tables(pack)
    except PackRefused as refused:
        return refused.findings
    return ()


def _tables(pack: Pack, report: Report) -> Tables | None:
    written = _written(pack, report)
    if written.settings is None:
        place = Place(f"{KEY}.yaml", 1, 1, pack.name)
        report.add("R501", place, f"nothing says how to identify a material; write '{KEY}:' with 'settings:'")
        return None
    properties = {symbol: seen for symbol, seen in properties_seen(pack).items() if symbol != UNKNOWN}
    symbols = tuple(properties)
    settings = settings_of(written.settings, report)
    never = never_of(written.lists["never"], pack.cautions, report)
    tests = bench_tests_of(written.lists["tests"], pack.cautions, _truths(pack), never, report)
    return Tables(
        *settings,
        properties=properties,
        matter=of_properties(pack, properties),
        tests=tests,
        likelihoods=likelihoods_of(written.lists["likelihoods"], tests, pack, symbols, report),
        priors=priors_of(written.lists["priors"], written.settings.place, symbols, tests, report),
        never=never,
    )


def _truths(pack: Pack) -> tuple[str, ...]:
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    return tuple(fact.name for fact in facts if fact.kind is Kind.BOOLEAN)


def _written(pack: Pack, report: Report) -> Written:
    written = Written()
    for pack_name, files in pack.files.items():
        for path in sorted(files):
            if _is_of_tables(path):
                _gather(compose(files[path], path, pack_name, report), written, report)
    return written


def _is_of_tables(path: str) -> bool:
    return path == f"{KEY}.yaml" or path.startswith(f"{KEY}/")


def _gather(root: Node | None, written: Written, report: Report) -> None:
    if root is None:
        return
    node = Row(root, "a file of identification", report, (KEY,)).node(KEY)
    if node is None:
        return
    row = Row(node, f"'{KEY}'", report, (), ("settings", *LISTS))
    written.settings = row.node("settings") or written.settings
    for name in LISTS:
        written.lists[name].extend(row.items(name))
