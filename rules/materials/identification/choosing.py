"""Which test to do next, and how many a way of choosing needs.

What matters is what the rules can see: two materials with the same properties get the same
procedure, so nothing is gained by telling them apart. A test is judged by the information it is
expected to give about the class of materials with equal properties, in bits: the entropy now less
the expected entropy after it (Shannon 1948; Lindley 1956).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import fsum, log2

from rules.materials.identification.beliefs import agreed_value, grouped, prior_for, share
from rules.materials.identification.model import Beliefs, Tables


class Stop(Enum):
    """Why no further test is proposed."""

    SETTLED = "settled"
    NO_TEST_LEFT = "no_test_left"
    NOTHING_TO_GAIN = "nothing_to_gain"


@dataclass(frozen=True)
class Choice:
    """The test to do next and the bits it is expected to give."""

    test: str
    gain_bits: float


Chooser = Callable[[Tables, Beliefs, Sequence[str]], Choice | Stop]
"""(tables, beliefs, tests not yet done) -> the next test, or why there is none."""


def best_test(tables: Tables, beliefs: Beliefs, left: Sequence[str]) -> Choice | Stop:
    """The test with the greatest expected gain; of equal ones the first as declared."""
    if settled(tables, beliefs):
        return Stop.SETTLED
    choices = [Choice(test, gain_bits(tables, beliefs, test)) for test in left]
    if not choices:
        return Stop.NO_TEST_LEFT
    best = max(choices, key=lambda choice: choice.gain_bits)
    return best if best.gain_bits >= tables.worthwhile_bits else Stop.NOTHING_TO_GAIN


def next_as_declared(tables: Tables, beliefs: Beliefs, left: Sequence[str]) -> Choice | Stop:
    """The first test not yet done, for comparison; stops where `best_test` does."""
    best = best_test(tables, beliefs, left)
    return best if isinstance(best, Stop) else Choice(left[0], gain_bits(tables, beliefs, left[0]))


def settled(tables: Tables, beliefs: Beliefs) -> bool:
    """Whether the candidates agree on every fact that rules may read."""
    return all(
        agreed_value(share(tables, beliefs, fact), tables.agreement) is not None for fact in tables.facts
    )


def gain_bits(tables: Tables, beliefs: Beliefs, test: str) -> float:
    """The expected loss of entropy over classes of equal properties; never below 0 but for rounding."""
    after = fsum(
        probability * entropy_bits(tables, told) for probability, told in outcomes(tables, beliefs, test)
    )
    return entropy_bits(tables, beliefs) - after


def entropy_bits(tables: Tables, beliefs: Beliefs) -> float:
    """Entropy over the classes of materials with equal properties."""
    classes = grouped((tables.classes[symbol], probability) for symbol, probability in beliefs.items())
    return -fsum(p * log2(p) for p in classes.values() if p > 0)


def outcomes(tables: Tables, beliefs: Beliefs, test: str) -> list[tuple[float, Beliefs]]:
    """Each result's probability and the beliefs it would leave, in the order of the test's results."""
    told: list[tuple[float, Beliefs]] = []
    for result in tables.tests[test].results:
        likelihood = tables.of_result(test, result)
        weights = {symbol: belief * likelihood[symbol] for symbol, belief in beliefs.items()}
        probability = fsum(weights.values())
        told.append((probability, {symbol: weight / probability for symbol, weight in weights.items()}))
    return told


def expected_tests(tables: Tables, choose: Chooser, part: str | None = None) -> float:
    """How many tests `choose` needs on average until it stops, over all materials and results."""

    def needed(beliefs: Beliefs, left: tuple[str, ...]) -> float:
        choice = choose(tables, beliefs, left)
        if isinstance(choice, Stop):
            return 0.0
        rest = tuple(test for test in left if test != choice.test)
        told = outcomes(tables, beliefs, choice.test)
        return 1.0 + fsum(probability * needed(after, rest) for probability, after in told)

    return needed(prior_for(tables, part).beliefs, tuple(tables.tests))
