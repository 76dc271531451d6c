"""What a procedure uses."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class MaterialNeed:
    """How much of a material the stages use; None where no quantity can be reckoned."""

    material: str
    title: str
    kind: str
    stages: tuple[str, ...]
    quantity_ml: Decimal | None
    basis: str
