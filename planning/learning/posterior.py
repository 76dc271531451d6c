"""The conjugate update of a normal distribution with unknown mean and variance.

The prior is normal-inverse-gamma: given the variance, the mean is normal about `mean` with variance /
`kappa`; nu x `variance` / the variance is chi-squared with `nu` degrees of freedom. Formulas: K. P. Murphy,
Conjugate Bayesian analysis of the Gaussian distribution (2007), section 6; P. D. Hoff, A First Course in
Bayesian Statistical Methods (2009), section 5.3.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum, sqrt


@dataclass(frozen=True)
class Sums:
    """All that a set of observations says of mean and variance: how many, their sum and that of squares."""

    count: int = 0
    total: float = 0.0
    squares: float = 0.0

    def __add__(self, other: Sums) -> Sums:
        return Sums(self.count + other.count, self.total + other.total, self.squares + other.squares)


@dataclass(frozen=True)
class Belief:
    """What is known of mean and variance: `kappa` and `nu` count the observations it is worth."""

    mean: float
    kappa: float
    nu: float
    variance: float

    @property
    def scale(self) -> float:
        """The scale of the next observation, which is Student t about `mean` with `nu` degrees of freedom."""
        return sqrt(self.variance * (self.kappa + 1) / self.kappa)


REFERENCE = Belief(mean=0.0, kappa=0.0, nu=-1.0, variance=0.0)
"""Says nothing at all; two observations that differ make a proper belief of it."""


def sums_of(observations: Iterable[float]) -> Sums:
    """The sums of observations, the same in whatever order they come."""
    values = list(observations)
    return Sums(len(values), fsum(values), fsum(value * value for value in values))


def updated(prior: Belief, seen: Sums) -> Belief:
    """What is known after observations. Their order, and in how many parts they came, does not matter."""
    if seen.count == 0:
        return prior
    own_mean = seen.total / seen.count
    own_squares = max(0.0, seen.squares - seen.count * own_mean**2)
    kappa, nu = prior.kappa + seen.count, prior.nu + seen.count
    mean = (prior.kappa * prior.mean + seen.total) / kappa
    apart = prior.kappa * seen.count / kappa * (own_mean - prior.mean) ** 2
    return Belief(mean, kappa, nu, (prior.nu * prior.variance + own_squares + apart) / nu)
