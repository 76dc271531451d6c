"""What the store keeps of finished jobs."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum
from hashlib import sha256

from planning.learning.model import Reason, Spell
from planning.learning.posterior import Sums
from storage.records import canonical_text


class State(Enum):
    """What became of a report. Only what is counted is learned from."""

    COUNTED = "counted"
    SET_ASIDE = "set_aside"
    WHILE_FROZEN = "while_frozen"
    BEFORE_RESET = "before_reset"
    REPLACED = "replaced"


@dataclass(frozen=True)
class Report:
    """What is said of one stage of a procedure, with what the catalogue had predicted for it.

    `check_passed` None: nothing was said of the check. `remark` and `check_note` are for people.
    """

    stage: str
    spell: Spell
    predicted_min: float
    predicted_spread: float
    check_passed: bool | None = None
    check_note: str | None = None
    remark: str | None = None

    @property
    def content(self) -> str:
        """SHA-256, in hexadecimal, of what was said: the same report again has the same."""
        start, end = self.spell.started_at, self.spell.ended_at
        said = (
            self.spell.work_min,
            start and start.isoformat(),
            end and end.isoformat(),
            self.check_passed,
            self.check_note,
            self.remark,
        )
        return sha256(canonical_text(said).encode()).hexdigest()


@dataclass(frozen=True)
class KeptActual:
    """A report as it is kept; `number` counts all reports. `reason` is there for what is set aside."""

    number: int
    procedure_id: str
    report: Report
    reported_at: datetime
    state: State
    reason: Reason | None


@dataclass(frozen=True)
class Taken:
    """A report that was just sent, as it is kept; `repeated` where the very same was kept before."""

    actual: KeptActual
    repeated: bool


@dataclass(frozen=True)
class Estimate:
    """What a shop's counted reports of a stage add up to: sums of log(actual / predicted work).

    `frozen_at` None: new reports move it. `frozen_speed` is the logarithm of the shop's speed then.
    `reset_at` is when it was begun anew last.
    """

    stage: str
    sums: Sums = field(default_factory=Sums)
    frozen_at: datetime | None = None
    frozen_speed: float | None = None
    reset_at: datetime | None = None
