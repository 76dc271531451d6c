"""A process of its own for one proof: `python -m api.packs.child SECONDS < stack.json > proof.json`.

What crashes, hangs or eats memory here is a failed proof, and not a failed service.
"""

from __future__ import annotations

import json
import os
import resource
import sys

from api.packs.proving import proof_of

MEMORY_BYTES = 4 * 1024**3
NICENESS = 10
"""So far a proof steps back behind requests, where the machine has not enough processors for all."""


def main(within_s: int) -> None:
    """Read a stack of packs as JSON (a list of objects, path to text), write what its proof finds."""
    _bound(resource.RLIMIT_CPU, within_s)
    _bound(resource.RLIMIT_AS, MEMORY_BYTES)
    _bound(resource.RLIMIT_CORE, 0)
    os.nice(NICENESS)
    answer = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # what a library prints must not get into the answer
    document = proof_of(json.load(sys.stdin))
    with answer:
        json.dump(document, answer)


def _bound(what: int, limit: int) -> None:
    _, most = resource.getrlimit(what)
    within = limit if most == resource.RLIM_INFINITY else min(limit, most)
    resource.setrlimit(what, (within, most))


if __name__ == "__main__":
    main(int(sys.argv[1]))
