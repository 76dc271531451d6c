"""Finds the peak, holds the service at a part of it for long, and prints what came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from os import cpu_count
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from bench.printing import heading, table
from endurance.load.callers import Tally, as_fast_as_answered, at_rate
from endurance.load.mix import Kind, Mix
from endurance.load.processes import MOST_GROWTH, MOST_MORE, WARM_UP, Growth, Watched
from endurance.postgresql import server
from endurance.services import GUNICORN, SERVE, running

PART_OF_PEAK = 0.6
CALLERS = (1, 2, 4, 8, 16)
STEP_S = 10.0
MOST_SHOWN = 10

# A process that is replaced after so many requests would hide that it grows.
COMMANDS = {
    "gunicorn with two processes, none of them ever replaced": (*GUNICORN, "--max-requests", "0"),
    "stagewright serve, one process": SERVE,
}

ABOUT = f"""\
The service and its callers are on one machine, so that they share its processors. First callers that
send as fast as they are answered, {STEP_S:g} s for each number of them; the most requests a second is
the peak. Then {PART_OF_PEAK:.0%} of it for long, at random moments, whether the last requests were answered
or not; what a request takes counts from the moment it was due."""


def run(minutes: float, on_postgresql: bool, one_process: bool, seed: int) -> int:
    """The exit code: 0 where every request was answered as it should be, and no process grew.

    Raises NoServer where there are no programs of PostgreSQL.
    """
    heading("Under load for long")
    way = list(COMMANDS)[one_process]
    database = "PostgreSQL" if on_postgresql else "SQLite"
    print(f"{ABOUT}\n{way}; {database}; {cpu_count()} processors; seed {seed}.\n")
    with (
        TemporaryDirectory(prefix="stagewright-endurance-") as name,
        _database(Path(name), on_postgresql) as url,
        running(COMMANDS[way], Path(name), url) as service,
    ):
        mix, watched = Mix(seed), Watched(service)
        peak_per_s, wrong_before = _peak(service.port, mix)
        per_s = PART_OF_PEAK * peak_per_s
        print(f"\n{per_s:.0f} requests a second for {minutes:g} min:\n", flush=True)
        tally = at_rate(service.port, mix, per_s, 60 * minutes, seed, watched.look)
        _print_times(tally)
        _print_processes(watched)
        size_mib = sum(each.stat().st_size for each in Path(name).glob("store.sqlite3*")) / 2**20
        if not on_postgresql:
            print(f"\nThe database has grown to {size_mib:.0f} MiB.")
    wrong = wrong_before + tally.wrong
    grown = [process for process, growth in watched.processes.items() if not growth.is_flat]
    print(f"\n{wrong.total()} of {tally.requests} requests at that rate, and of those before, went wrong.")
    for told, times in wrong.most_common(MOST_SHOWN):
        print(f"{times} times: {told}")
    print(
        f"{len(grown)} of {len(watched.processes)} processes grew: by more than {MOST_GROWTH:.0%} of their"
        f" memory, or by more than {MOST_MORE} threads or open files."
    )
    return 1 if wrong or grown else 0


@contextmanager
def _database(folder: Path, on_postgresql: bool) -> Iterator[str]:
    if on_postgresql:
        with server() as own:
            yield own.new_database()
    else:
        yield f"sqlite:///{folder / 'store.sqlite3'}"


def _peak(port: int, mix: Mix) -> tuple[float, Counter[str]]:
    """The most requests a second, and what went wrong meanwhile."""
    tallies = {callers: as_fast_as_answered(port, mix, callers, STEP_S) for callers in CALLERS}
    table(
        ("callers", "requests/s", "P50 ms", "P95 ms"),
        [(callers, f"{each.per_s:.0f}", *_times_ms(_all(each), 50, 95)) for callers, each in tallies.items()],
    )
    wrong = sum((each.wrong for each in tallies.values()), Counter[str]())
    return max(each.per_s for each in tallies.values()), wrong


def _print_times(tally: Tally) -> None:
    rows = [(kind.value, tally.took_s[kind]) for kind in Kind if tally.took_s[kind]]
    table(
        ("", "requests", "requests/s", "P50 ms", "P95 ms", "P99 ms", "most ms"),
        [
            (name, len(took_s), f"{len(took_s) / tally.lasted_s:.1f}", *_times_ms(took_s, 50, 95, 99, 100))
            for name, took_s in [*rows, ("all", _all(tally))]
        ],
    )


def _print_processes(watched: Watched) -> None:
    print(
        f"\nProcesses, the first {WARM_UP:.0%} of the time left out;"
        " medians of its first and its last quarter:\n"
    )
    table(
        ("process", "first MiB", "last MiB", "MiB/h", "threads", "open files", ""),
        [
            (
                process,
                *(f"{size:.1f}" for size in growth.first_and_last("resident_mib")),
                f"{growth.mib_per_hour:+.1f}",
                _first_and_last(growth, "threads"),
                _first_and_last(growth, "open_files"),
                "flat" if growth.is_flat else "grows",
            )
            for process, growth in watched.processes.items()
        ],
    )


def _first_and_last(growth: Growth, what: str) -> str:
    first, last = growth.first_and_last(what)
    return f"{first:.0f} → {last:.0f}"


def _all(tally: Tally) -> list[float]:
    return [took for each in tally.took_s.values() for took in each]


def _times_ms(took_s: list[float], *per_cents: int) -> list[str]:
    return [f"{1000 * value:.0f}" for value in np.percentile(took_s, per_cents)]
