"""Faults that are not a line of text: of a folder, and of packs too large for the rules engine."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tiny_pack import RULES, SMALL

Position = tuple[str, int, int]


@dataclass(frozen=True)
class PlantedInFolder:
    """`plant` changes a folder that holds the small pack."""

    code: str
    plant: Callable[[Path], object]
    position: Position
    says: str


@dataclass(frozen=True)
class PlantedInEngine:
    """A pack beyond a limit of the engine."""

    code: str
    files: Mapping[str, str]
    position: Position
    says: str


def _link_out(folder: Path) -> None:
    outside = folder.parent / "outside.yaml"
    outside.write_text("rules: []\n")
    (folder / "rules" / "shared.yaml").symlink_to(outside)


IN_FOLDERS = (
    PlantedInFolder("R001", lambda folder: (folder / "pack.yaml").unlink(), ("pack.yaml", 1, 1), "add it"),
    PlantedInFolder(
        "R002",
        lambda folder: (folder / "rules" / "all.yaml").write_text("#" * (600 * 1024)),
        ("rules/all.yaml", 1, 1),
        "split it in two",
    ),
    PlantedInFolder("R003", _link_out, ("rules/shared.yaml", 1, 1), "put a plain file here"),
    PlantedInFolder(
        "R004",
        lambda folder: (folder / "more.yaml").write_bytes("cases: []\n# Schö".encode("latin-1")),
        ("more.yaml", 2, 6),
        "save the file as UTF-8",
    ),
    PlantedInFolder(
        "R013",
        lambda folder: (folder / "rules" / "paint.yml").write_text("rules: []\n"),
        ("rules/paint.yml", 1, 1),
        "end in .yaml",
    ),
    PlantedInFolder(
        "R018",
        lambda folder: (folder / "more.yaml").write_text("cases:\n" + "  - no\n" * 600),
        ("more.yaml", 501, 5),
        "mend these first",
    ),
)


def _with_rules(*rules: str, facts: str = "") -> dict[str, str]:
    return {**SMALL, "rules/refinish.yaml": RULES + "".join(rules), "more.yaml": facts or "cases: []\n"}


def _rule(name: str, when: str, effect: str = "caution: [solvent-vapour]") -> str:
    return f"  - {{id: {name}, when: {when}, {effect}, why: A test., source: invented}}\n"


def _alternatives(size: int) -> str:
    members = range(size)
    return "[" + ", ".join(f"{{shade: s{each}, radar_zone: true}}" for each in members) + "]"


def _shades(size: int) -> str:
    members = "".join(f"      s{each}: One of many.\n" for each in range(size))
    return (
        "facts:\n  shade:\n    about: A shade.\n    kind: enumeration\n"
        f"    values:\n{members}    given_as: /finish/shade\n    default: s0\n"
    )


def _chain(length: int) -> dict[str, str]:
    declared = "{about: A link., kind: boolean, origin: rules, default: false}"
    facts = "facts:\n" + "".join(f"  link_{each}: {declared}\n" for each in range(length))
    first = _rule("link-0", "always", "conclude: {link_0: true}")
    links = (
        _rule(f"link-{each}", f"{{link_{each - 1}: true}}", f"conclude: {{link_{each}: true}}")
        for each in range(1, length)
    )
    last = _rule("last", f"{{link_{length - 1}: true}}")
    return _with_rules(first, *links, last, facts=facts)


_MANY = ", ".join(f"s{each}" for each in range(300))
_LINE = RULES.count("\n") + 1
_FIRST = ("rules/refinish.yaml", _LINE, 5)
_WHOLE = ("pack.yaml", 1, 1)

IN_ENGINES = (
    PlantedInEngine(
        "R301",
        _with_rules(*(_rule(f"rule-{each}", "always") for each in range(1001))),
        _WHOLE,
        "split the pack",
    ),
    PlantedInEngine(
        "R302",
        _with_rules(_rule("wide", f"{{any: {_alternatives(49)}}}"), facts=_shades(50)),
        _FIRST,
        "a rule of its own",
    ),
    PlantedInEngine(
        "R303",
        _with_rules(_rule("joined", f"{{any: {_alternatives(13)}}}"), facts=_shades(14)),
        _FIRST,
        "conclude a derived fact",
    ),
    PlantedInEngine(
        "R304",
        _with_rules(_rule("long", f"{{shade: [{_MANY}]}}"), facts=_shades(301)),
        _FIRST,
        "the members that are left out",
    ),
    PlantedInEngine("R305", _chain(300), _WHOLE, "shorten the chains"),
)
