"""A few rows of an invented substrate table, for the tests of markings, names and identification."""

from __future__ import annotations

from datetime import date

from rules.conditions import Value
from rules.pack import Figure, Pack, Substrate
from rules.vocabulary import Fact, Kind, Origin, Vocabulary


def row(
    symbol: str,
    aliases: tuple[str, ...] = (),
    density: tuple[float, float] = (1.05, 1.1),
    **properties: Value,
) -> Substrate:
    """One row; its figures hold the density alone."""
    figures = {"density_g_per_cm3": Figure(*density, "invented")}
    return Substrate(symbol, f"Row {symbol}", properties, aliases, figures=figures, source="invented")


def pack_of(*rows: Substrate, files: dict[str, dict[str, str]] | None = None) -> Pack:
    """A pack of nothing but a substrate table with the facts `matrix` and `surface_energy`."""
    facts = {
        "matrix": ("thermoplastic", "thermoset"),
        "surface_energy": ("low", "medium", "high"),
    }
    vocabulary = Vocabulary(
        {
            name: Fact(name, Kind.ENUMERATION, Origin.SUBSTRATE, name, dict.fromkeys(values, "Invented."))
            for name, values in facts.items()
        }
    )
    return Pack(
        name="sample",
        version="1.0.0",
        title="Invented sample",
        digest="0" * 64,
        effective_from=date(2026, 1, 1),
        effective_until=None,
        vocabulary=vocabulary,
        phases=(),
        resources=(),
        labour=(),
        rules={},
        stages={},
        cautions={},
        materials={},
        substrates={substrate.symbol: substrate for substrate in rows},
        layers=(),
        files=files or {},
    )
