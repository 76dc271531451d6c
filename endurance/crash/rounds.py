"""One crash after another, each with writers before it and a check after it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from time import sleep

from endurance.calling import Caller
from endurance.crash.checking import faults_of_acknowledged, faults_of_kept, repeat
from endurance.crash.databases import Database
from endurance.crash.ledger import Asked, Kind
from endurance.crash.writers import Writer
from endurance.services import Service, start

WRITERS = 4
KILLED_WITHIN_S = 1.5
"""From the first answer on."""

FIRST_ANSWER_WITHIN_S = 30.0


@dataclass
class Outcome:
    """What was acknowledged, what became of that which the crashes cut off, and everything that is wrong."""

    kills: int = 0
    acknowledged: Counter[Kind] = field(default_factory=Counter)
    cut_off: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def crash(
    command: Sequence[str],
    folder: Path,
    url: str,
    kills: int,
    seed: int,
    within_s: float = KILLED_WITHIN_S,
) -> Outcome:
    """Kill the service so many times; at the end everything that was ever answered is looked at once more."""
    draw, outcome, everything = Random(seed), Outcome(), list[Asked]()
    service, database = start(command, folder, url), Database(url)
    try:
        for number in range(kills):
            asked = _write_until_killed(service, number, draw, within_s)
            service = start(command, folder, url)
            everything += asked
            outcome.kills += 1
            outcome.faults += _faults_of_round(asked, outcome, database, Caller(service.port))
            outcome.faults += database.faults(sum(len(each.procedures()) for each in everything))
        caller = Caller(service.port)
        outcome.faults += [fault for asked in everything for fault in faults_of_kept(asked, caller)]
    finally:
        service.kill()
        database.close()
    return outcome


def _write_until_killed(service: Service, number: int, draw: Random, within_s: float) -> list[Asked]:
    """What the writers asked for until the service was killed."""
    writers = [Writer(service.port, f"RO-{number}-{name}", draw.randrange(2**32)) for name in range(WRITERS)]
    for writer in writers:
        writer.start()
    if not writers[0].answered.wait(FIRST_ANSWER_WITHIN_S):
        raise RuntimeError("the service does not answer")
    sleep(draw.uniform(0, within_s))
    service.kill()
    for writer in writers:
        writer.join()
    return [asked for writer in writers for asked in writer.asked]


def _faults_of_round(
    asked: Sequence[Asked], outcome: Outcome, database: Database, caller: Caller
) -> Iterator[str]:
    for each in asked:
        if each.answer is not None:
            outcome.acknowledged[each.kind] += 1
            yield from faults_of_acknowledged(each, caller)
        else:
            outcome.cut_off[repeat(each, caller, database.let_leases_end)] += 1
            yield from faults_of_acknowledged(each, caller)
