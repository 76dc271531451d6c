"""Which test to do next.

What matters are questions: of a line item the whole procedure, its stages, its disposition; without
one each property that a rule can tell. A question is settled when one answer is probable enough. It
is pursued while the tests left would settle it often enough; what they can't settle they need not be
done for. What is still to be found out is the entropy (Shannon 1948) of the most open question that
is pursued; the next test is the one expected to leave least to do (after Lindley 1956).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from rules.materials.identification.model import Beliefs, Matter, Prior, Tables
from rules.materials.identification.outlook import Outlook, Prospect, outlook_of, probabilities, prospect_of

GOING_ON_BITS = 2.0
"""What it counts that another test is needed at all, beside the bits to be found out.

Without it a test that may end the search gives way too often to one that tells a little more.
"""

_DIGITS = 9
"""Beyond these, differences between tests are rounding."""


class Stop(Enum):
    """Why no further test is proposed."""

    SETTLED = "settled"
    NO_TEST_LEFT = "no_test_left"
    NOTHING_TO_GAIN = "nothing_to_gain"


@dataclass(frozen=True)
class Choice:
    """The test to do next, the question it is done for, and the bits it is expected to tell about that."""

    test: str
    about: str
    gain_bits: float


def remaining_tests(tables: Tables, done: Collection[str], prior: Prior, matter: Matter) -> list[str]:
    """The tests that may still be done on such a part, in the order declared."""
    return [
        name
        for name, test in tables.tests.items()
        if name not in done
        and name not in prior.not_done
        and not any(matter.facts.get(fact) is True for fact in test.not_on)
    ]


def best_test(tables: Tables, beliefs: Beliefs, left: Sequence[str], matter: Matter) -> Choice | Stop:
    """The test to do next; of equal ones the first as declared."""
    outlook = outlook_of(tables, beliefs, left)
    prospects = [prospect_of(tables, outlook, question) for question in matter.questions]
    if all(prospect.settled for prospect in prospects):
        return Stop.SETTLED
    if not left:
        return Stop.NO_TEST_LEFT
    pursued = max(prospects, key=lambda prospect: prospect.open_now)
    if not pursued.open_now:
        return Stop.NOTHING_TO_GAIN
    axis = min(range(len(outlook.tests)), key=lambda axis: _left_to_do(outlook, prospects, axis))
    gain_bits = max(pursued.bits_now - pursued.bits_after[axis], 0.0)
    return Choice(outlook.tests[axis], pursued.about, gain_bits)


def _left_to_do(outlook: Outlook, prospects: Sequence[Prospect], axis: int) -> float:
    """What is still to be done after the test on `axis`, expected over its results."""
    bits = np.max([prospect.open_after[axis] for prospect in prospects], axis=0)
    to_do = np.where(bits > 0, GOING_ON_BITS + bits, 0.0)
    return round(float((probabilities(outlook, axis) * to_do).sum()), _DIGITS)
