"""Kills the service over both databases, and prints what came of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic

from bench.printing import heading, table
from endurance.crash.checking import ANEW, AT_WORK, DONE
from endurance.crash.ledger import Kind
from endurance.crash.rounds import WRITERS, Outcome, crash
from endurance.postgresql import server
from endurance.services import GUNICORN, SERVE

MOST_SHOWN = 20

ABOUT = f"""\
{WRITERS} writers send procedures, batches, reports and resets of estimates, each request with a key, until
every process of the service is killed at a random moment. After each start: everything that was
acknowledged is read as it was answered, under the digest of its content, once in the list of its line
item, and is replayed to its key; what was cut off is sent again and is there once then; the tables hold
exactly that; the audit is whole (and the file of SQLite, by its integrity_check). At the end once more.
The operating system and its disks go on: nothing is said of a loss of power."""


def run(on_sqlite: int, on_postgresql: int, seed: int) -> int:
    """Kill so many times on each database; the exit code. Raises NoServer."""
    heading("Killed in the midst of writing")
    print(ABOUT, f"\nSeed {seed}.\n")
    outcomes = dict(_outcomes(on_sqlite, on_postgresql, seed))
    table(
        ("", "kills", "seconds", *(kind.value for kind in Kind), "cut off", DONE, ANEW, AT_WORK, "faults"),
        [
            (name, outcome.kills, f"{took_s:.0f}", *_figures(outcome))
            for name, (outcome, took_s) in outcomes.items()
        ],
    )
    print(
        f"\nOf what was cut off: '{DONE}', its answer was lost and is replayed; '{ANEW}', nothing of it was"
        f" there;\n'{AT_WORK}', the process that died held its key, for two minutes that were put forward."
    )
    faults = [f"{name}: {fault}" for name, (outcome, _) in outcomes.items() for fault in outcome.faults]
    for fault in faults[:MOST_SHOWN]:
        print(fault)
    print(
        f"{len(faults)} faults"
        if faults
        else "Nothing that was acknowledged is lost, altered or there twice."
    )
    return 1 if faults else 0


def _outcomes(on_sqlite: int, on_postgresql: int, seed: int) -> Iterator[tuple[str, tuple[Outcome, float]]]:
    with TemporaryDirectory(prefix="stagewright-endurance-") as name:
        folder = Path(name)
        if on_sqlite:
            url = f"sqlite:///{folder / 'store.sqlite3'}"
            yield "serve, SQLite", _timed(SERVE, folder, url, on_sqlite, seed)
        if on_postgresql:
            with server() as own:
                yield (
                    "gunicorn, PostgreSQL",
                    _timed(GUNICORN, folder, own.new_database(), on_postgresql, seed),
                )


def _timed(command: Sequence[str], folder: Path, url: str, kills: int, seed: int) -> tuple[Outcome, float]:
    began_s = monotonic()
    return crash(command, folder, url, kills, seed), monotonic() - began_s


def _figures(outcome: Outcome) -> Iterator[object]:
    yield from (outcome.acknowledged[kind] for kind in Kind)
    yield outcome.cut_off.total()
    yield from (outcome.cut_off[what] for what in (DONE, ANEW, AT_WORK))
    yield len(outcome.faults)
