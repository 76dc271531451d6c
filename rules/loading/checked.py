"""What comes of looking at a pack."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rules.assertions.model import Assertion
from rules.cases.model import Case
from rules.findings import Finding, as_text, in_order
from rules.pack import Pack


@dataclass(frozen=True)
class Checked:
    """A pack as far as it could be built, with everything found wrong with it.

    `pack` is None where a finding stops the loading or rules read what they conclude. `cases` are
    those of the uppermost pack alone: an overlay is meant to change what the pack under it answers.
    `assertions` are those of the whole stack: what must hold in every case holds under an overlay too.
    """

    pack: Pack | None
    findings: tuple[Finding, ...]
    cases: tuple[Case, ...] = ()
    assertions: tuple[Assertion, ...] = ()


class PackRefused(ValueError):
    """A pack with at least one finding; `findings` has all of them, in order."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = in_order(findings)
        super().__init__(as_text(self.findings).rstrip())
