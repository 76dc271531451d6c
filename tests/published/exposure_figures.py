"""Which exposure figures a text quotes that no published limit bears out."""

import re
from collections.abc import Collection, Iterator
from typing import Any

from plastics_data import data_file

Limit = dict[str, Any]

LIMITS: list[Limit] = data_file("exposure_limits.yaml")["limits"]
AUTHORITIES = ("osha", "niosh", "epa")
UNITS = {"ppm": "ppm", "mg/m3": "mg_per_m3", "mg/m³": "mg_per_m3"}
QUOTED = re.compile(r"(?P<value>\d+(?:[.,]\d+)*)\s*(?P<unit>ppm|mg/m3|mg/m³)")
SENTENCE_END = re.compile(r"(?<=[.;])\s+")
CLAUSE_END = re.compile(r",\s+")


def unsupported_figures(text: str, subject: str = "") -> list[str]:
    """Quoted figures that are no limit of the substance meant, of an authority the sentence names if any.

    The substance meant is the one that the same clause names, or else the sentence, or else `subject`.
    """
    found: list[str] = []
    for sentence in SENTENCE_END.split(text):
        authorities = [name for name in AUTHORITIES if name in sentence.lower()] or AUTHORITIES
        for clause in CLAUSE_END.split(sentence):
            meant = _named_in(clause) or _named_in(sentence) or _named_in(subject)
            found += _unsupported_in(clause, meant, authorities)
    return found


def _named_in(text: str) -> list[Limit]:
    words = text.lower()
    return [limit for limit in LIMITS if any(name.lower() in words for name in _names(limit))]


def _names(limit: Limit) -> list[str]:
    return [limit[key] for key in ("substance", "also") if key in limit]


def _unsupported_in(clause: str, meant: list[Limit], authorities: Collection[str]) -> Iterator[str]:
    for quoted in QUOTED.finditer(clause):
        unit = UNITS[quoted["unit"]]
        figures = [limit.get(name, {}).get(unit, {}).values() for limit in meant for name in authorities]
        if float(quoted["value"].replace(",", "")) not in {figure for group in figures for figure in group}:
            yield quoted[0]
