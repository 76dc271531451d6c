"""The cautions of a procedure: those that rules ask for and those that its stages carry."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from planning.model import AskedCaution
from rules.pack import Caution

_SIGNALS = ("danger", "warning", "notice")


Names = Mapping[str, tuple[str, ...]]


def asked_cautions(
    asked: Names, carried: Names, because: Names, cautions: Mapping[str, Caution]
) -> tuple[AskedCaution, ...]:
    """The union of `asked` (caution to rules) and what stages carry, the gravest signal word first.

    `carried` maps the stages, in working order, to their cautions, `because` to the rules behind them. A
    caution is told with the rules that asked for it or for a stage that carries it.
    """
    carriers: dict[str, list[str]] = {name: [] for name in asked}
    for stage, names in carried.items():
        for name in dict.fromkeys(names):
            carriers.setdefault(name, []).append(stage)
    ranked = sorted(carriers, key=lambda name: (_SIGNALS.index(cautions[name].signal), name))
    return tuple(
        AskedCaution(cautions[name], tuple(carriers[name]), _rules(name, asked, carriers[name], because))
        for name in ranked
    )


def _rules(caution: str, asked: Names, carriers: Collection[str], because: Names) -> tuple[str, ...]:
    return tuple(sorted(set(asked.get(caution, ())).union(*[because[stage] for stage in carriers])))
