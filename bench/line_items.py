"""The typical line items of the documentation, all invented, as facts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from rules.conditions import Value
from rules.intake import complete
from rules.pack import Pack
from schemas.line_item.facts import facts_given

FILE = Path(__file__).parent.parent / "docs" / "typical_line_items.yaml"


@dataclass(frozen=True)
class TypicalLineItem:
    """What it is about, and its request body without a reference."""

    about: str
    body: Mapping[str, Any]

    def facts(self, pack: Pack, material: str) -> Mapping[str, Value]:
        """Its complete facts, were the part made of `material`."""
        return complete(pack, pack.substrates[material], facts_given(self.body, pack)).values


def typical_line_items() -> list[TypicalLineItem]:
    """In the order of the file."""
    written = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    return [TypicalLineItem(each.pop("about"), each) for each in written]
