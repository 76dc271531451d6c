"""Names by which two things could be meant."""

from __future__ import annotations

from collections.abc import Iterator

from rules.findings import Finding
from rules.pack import Pack, Substrate
from rules.vocabulary import Fact


def doubles(pack: Pack) -> Iterator[Finding]:
    """Words that mean two materials, and places in a line item that mean two facts."""
    meant: dict[str, Substrate] = {}
    for substrate in pack.substrates.values():
        for word in dict.fromkeys((substrate.symbol, *substrate.aliases)):
            first = meant.setdefault(word.casefold(), substrate)
            if first is not substrate:
                told = f"'{word}' already means the material '{first.symbol}' at {first.place}"
                yield Finding("R213", substrate.place, f"{told}; leave it to one of them")
    given: dict[str, Fact] = {}
    for fact in pack.vocabulary:
        if fact.given_as is not None:
            earlier = given.setdefault(fact.given_as, fact)
            if earlier is not fact:
                told = f"'{fact.given_as}' already gives the fact '{earlier.name}' at {earlier.place}"
                yield Finding("R214", fact.place, f"{told}; write another pointer")
