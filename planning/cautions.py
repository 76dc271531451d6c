"""The cautions of a procedure: those that rules ask for and those that its stages carry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planning.model import AskedCaution, PlannedStage
from rules.pack import Caution

_SIGNALS = ("danger", "warning", "notice")


def asked_cautions(
    asked: Mapping[str, tuple[str, ...]], stages: Sequence[PlannedStage], cautions: Mapping[str, Caution]
) -> tuple[AskedCaution, ...]:
    """The union of `asked` (caution to rules) and the stages' own, the gravest signal word first.

    `because` holds the rules that asked for the caution or for a stage that carries it.
    """
    carriers: dict[str, list[PlannedStage]] = {name: [] for name in asked}
    for stage in stages:
        for name in set(stage.cautions):
            carriers.setdefault(name, []).append(stage)
    ranked = sorted(carriers, key=lambda name: (_SIGNALS.index(cautions[name].signal), name))
    return tuple([_asked(cautions[name], asked.get(name, ()), carriers[name]) for name in ranked])


def _asked(caution: Caution, rules: tuple[str, ...], carriers: Sequence[PlannedStage]) -> AskedCaution:
    because = set(rules).union(*[stage.because for stage in carriers])
    return AskedCaution(caution, tuple([stage.stage for stage in carriers]), tuple(sorted(because)))
