"""What is bought: packages for a quantity. Rounding up to packages comes last, over the whole job.

Who buys takes 3785 + 2 x 946 ml rather than 6 x 946 ml, though a millilitre more is left over: what is left
over beyond the least is suffered up to one twentieth of the need, for fewer packages (own estimate).
"""

from __future__ import annotations

from functools import lru_cache
from math import gcd, inf

from planning.materials.model import Package

TOLERATED = 20
"""Up to one part in so many of the need may be left over beyond the least, where fewer packages do."""
_FREELY = 20
"""What goes beyond so many of the largest package is bought in largest packages."""


@lru_cache(maxsize=1024)
def packages_for(quantity_ml: int, sizes_ml: tuple[float, ...]) -> tuple[Package, ...]:
    """The fewest packages of those that leave little over, largest first; none without sizes or need.

    Little is the least that can be left over and a twentieth of the need more; of the fewest those are taken
    that leave least over.
    """
    if quantity_ml <= 0 or not sizes_ml:
        return ()
    sizes = sorted((int(size) for size in sizes_ml), reverse=True)
    whole = max(0, quantity_ml // sizes[0] - _FREELY)
    # Largest packages alone are the fewest, and leave less than one over: no more need be tolerated.
    tolerated_ml = min(quantity_ml // TOLERATED, sizes[0])
    counts = _fewest(quantity_ml - whole * sizes[0], sizes, tolerated_ml)
    counts[sizes[0]] = counts.get(sizes[0], 0) + whole
    return tuple(Package(size, counts[size]) for size in sizes if counts.get(size))


def bought_ml(packages: tuple[Package, ...]) -> int:
    """What packages hold together."""
    return sum([package.size_ml * package.count for package in packages])


def _fewest(quantity_ml: int, sizes: list[int], tolerated_ml: int) -> dict[int, int]:
    """How many of each size: the fewest of those that leave at most `tolerated_ml` over beyond the least.

    With the smallest size alone less than one of it is left over, so that the least lies no higher.
    """
    step = gcd(*sizes)
    most_ml = -(-quantity_ml // sizes[-1]) * sizes[-1] + tolerated_ml
    pieces, taken = _ways(most_ml // step, [size // step for size in sizes])
    sums = [at for at in range(-(-quantity_ml // step), len(pieces)) if pieces[at] < inf]
    little = [at for at in sums if (at - sums[0]) * step <= tolerated_ml]
    left = min(little, key=lambda at: (pieces[at], at))
    counts: dict[int, int] = {}
    while left:
        counts[taken[left] * step] = counts.get(taken[left] * step, 0) + 1
        left -= taken[left]
    return counts


def _ways(last: int, sizes: list[int]) -> tuple[list[float], list[int]]:
    """For each sum up to `last`, in steps: the fewest packages that make it, and one of them."""
    pieces: list[float] = [0.0] + [inf] * last
    taken = [0] * (last + 1)
    for made in range(1, last + 1):
        for size in sizes:
            if size <= made and pieces[made - size] + 1 < pieces[made]:
                pieces[made], taken[made] = pieces[made - size] + 1, size
    return pieces, taken
