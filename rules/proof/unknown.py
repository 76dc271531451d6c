"""Not knowing the material never costs a warning.

The answer for `unknown` is held against the answer for every material that could be behind it, all
other facts being equal. Where it asks for every stage that the other asks for, it carries every caution
that the other carries. Where it lacks a stage it is not judged: a warning of work that is not done
would warn of nothing, and which stages are the careful ones no pack says.
"""

from __future__ import annotations

from collections.abc import Iterator

from rules.proof.domain import SUBSTRATE, Domain
from rules.proof.fault import Fault, fault_in
from rules.proof.outcomes import Outcomes
from rules.proof.space import CellSet

UNKNOWN = "unknown"


def careless_unknown(outcomes: Outcomes, domain: Domain) -> Iterator[Fault]:
    """Where `unknown` does all that is done for another material and lacks one of its cautions."""
    unknown = next((cell for cell, row in enumerate(domain.rows) if UNKNOWN in row.symbols), None)
    if unknown is None:
        return
    place = outcomes.pack.substrates[UNKNOWN].place
    stages = [outcomes.present(stage) for stage in outcomes.pack.stages]
    as_much = {
        cell: _does_as_much(outcomes, domain, stages, unknown, cell)
        for cell in range(len(domain.rows))
        if cell != unknown
    }
    for name, caution in outcomes.pack.cautions.items():
        warned = outcomes.warned(name)
        lacking = {
            cell: where & ~warned & domain.diagrams.given(warned, SUBSTRATE, cell)
            for cell, where in as_much.items()
        }
        found = [cell for cell, where in lacking.items() if domain.any(where)]
        if found:
            symbols = ", ".join(symbol for cell in found for symbol in domain.rows[cell].symbols)
            told = (
                f"an unknown material lacks the caution '{name}', which it would have as {symbols}; let what "
                "asks for it ask for it where the material is unknown too"
            )
            yield fault_in(domain, lacking[found[0]], "R610", told, place, caution.place)


def _does_as_much(
    outcomes: Outcomes, domain: Domain, stages: list[CellSet], unknown: int, other: int
) -> CellSet:
    """Cells of `unknown` with every stage that the other material has in the like cell."""
    diagrams = domain.diagrams
    answered = outcomes.answered & diagrams.given(outcomes.answered, SUBSTRATE, other)
    covered = (present | ~diagrams.given(present, SUBSTRATE, other) for present in stages)
    return diagrams.cells(SUBSTRATE, [unknown]) & answered & diagrams.all_of(covered)
