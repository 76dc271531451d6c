"""Shows where something is written, so that an editor opens it."""

from __future__ import annotations

from pathlib import Path

from api.commands.packs import root_of
from rules.findings import Finding
from rules.places import Place


def shown(folder: Path, place: Place) -> str:
    """`file:line:column` of a place in the pack in `folder`, or in the pack below it."""
    return f"{root_of(folder, Finding('', place, ''))}{place}"
