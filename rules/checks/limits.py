"""What the rules engine cannot take."""

from __future__ import annotations

from collections.abc import Iterator

from rules.engines.limits import breaches
from rules.findings import Finding
from rules.pack import Pack
from rules.places import NOWHERE, Place


def limits(pack: Pack) -> Iterator[Finding]:
    """Every limit of the engine that a layered pack goes beyond."""
    for breach in breaches(pack):
        whole = Place("pack.yaml", 1, 1, pack.name)
        yield Finding(breach.code, whole if breach.place == NOWHERE else breach.place, breach.message)
