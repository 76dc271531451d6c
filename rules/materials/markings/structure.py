"""What a marking says, as a structure. `str()` of any part is how the standards write it."""

from __future__ import annotations

from dataclasses import dataclass

from rules.materials.markings import symbols


@dataclass(frozen=True)
class Recyclate:
    """Recycled content of a polymer, in % by mass; None where the marking gives no figure."""

    percent: int | None = None

    def __str__(self) -> str:
        return f"(REC{_number(self.percent)})"


@dataclass(frozen=True)
class Polymer:
    """A base polymer: `PP`, `PS-HI`, `PVC-P(DBP)`, `TPV-(EPDM+PP)`, `ABS(REC30)`.

    `phases` are the polymers a thermoplastic elastomer is blended of.
    """

    symbol: str
    qualifier: str | None = None
    plasticiser: str | None = None
    phases: tuple[str, ...] = ()
    recyclate: Recyclate | None = None

    @property
    def name(self) -> str | None:
        """What the symbol stands for; None when it is well formed but in no table."""
        return symbols.polymer_name(self.symbol)

    @property
    def known(self) -> bool:
        """Whether the symbol, and that of every phase, is in the tables."""
        return all(symbols.polymer_name(symbol) for symbol in (self.symbol, *self.phases))

    def __str__(self) -> str:
        qualifier = f"-{self.qualifier}" if self.qualifier else ""
        plasticiser = f"({self.plasticiser})" if self.plasticiser else ""
        phases = f"-({'+'.join(self.phases)})" if self.phases else ""
        return f"{self.symbol}{qualifier}{plasticiser}{phases}{self.recyclate or ''}"


@dataclass(frozen=True)
class Filler:
    """A filler or reinforcement: material and form letters, chemical element of a metal, % by mass."""

    material: str
    form: str | None = None
    element: str | None = None
    percent: int | None = None

    @property
    def name(self) -> str:
        """In words: `glass fibre`."""
        form = f" {symbols.FILLER_FORMS[self.form]}" if self.form else ""
        return f"{symbols.FILLER_MATERIALS[self.material]}{form}"

    def __str__(self) -> str:
        element = f"({self.element})" if self.element else ""
        return f"{self.material}{self.form or ''}{element}{_number(self.percent)}"


@dataclass(frozen=True)
class Compound:
    """One material of a part: a polymer or blend (main component first), its fillers, its flame retardants.

    `mixture_pct` is the share of all fillers together where the marking gives no share for each.
    """

    polymers: tuple[Polymer, ...]
    fillers: tuple[Filler, ...] = ()
    mixture_pct: int | None = None
    flame_retardants: tuple[int, ...] = ()

    @property
    def known(self) -> bool:
        """Whether every polymer is in the tables."""
        return all(polymer.known for polymer in self.polymers)

    def __str__(self) -> str:
        parts = ["+".join(map(str, self.polymers))]
        if len(self.fillers) == 1:
            parts.append(str(self.fillers[0]))
        elif self.fillers:
            parts.append(f"({'+'.join(map(str, self.fillers))}){_number(self.mixture_pct)}")
        if self.flame_retardants:
            parts.append(f"FR({'+'.join(map(str, self.flame_retardants))})")
        return "-".join(parts)


@dataclass(frozen=True)
class Marking:
    """A whole marking. More than one compound: a part of several materials, the visible one first."""

    compounds: tuple[Compound, ...]

    @property
    def known(self) -> bool:
        """Whether every polymer of every compound is in the tables."""
        return all(compound.known for compound in self.compounds)

    def __str__(self) -> str:
        return f">{','.join(map(str, self.compounds))}<"


def _number(percent: int | None) -> str:
    return "" if percent is None else str(percent)
