"""How large the processes of a service are, as Linux tells in /proc."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import linear_regression, median
from time import monotonic

from endurance.services import Service

WARM_UP = 0.2
"""Of the whole time: memories fill, and are not looked at."""

MOST_GROWTH = 0.03
"""From the first quarter after the warm-up to the last one, by their medians."""

MOST_MORE = 8
"""So many threads or open files more come of chance: connections come and go."""

_KIB_PER_MIB = 1024


@dataclass(frozen=True)
class Sample:
    """A process at a moment."""

    at_s: float
    resident_mib: float
    threads: int
    open_files: int


@dataclass
class Growth:
    """The samples of one process, first to last."""

    samples: list[Sample] = field(default_factory=list)

    @property
    def warm(self) -> list[Sample]:
        """Those after the warm-up."""
        first, last = self.samples[0].at_s, self.samples[-1].at_s
        return [each for each in self.samples if each.at_s >= first + WARM_UP * (last - first)]

    def first_and_last(self, what: str) -> tuple[float, float]:
        """Of a member of the samples, the medians of the first quarter after the warm-up and of the last."""
        values, quarter = [float(getattr(each, what)) for each in self.warm], max(1, len(self.warm) // 4)
        return median(values[:quarter]), median(values[-quarter:])

    @property
    def mib_per_hour(self) -> float:
        """The slope of a straight line through what came after the warm-up; 0 for too few samples."""
        if len(self.warm) < 2:
            return 0.0
        slope, _ = linear_regression(
            [each.at_s for each in self.warm], [each.resident_mib for each in self.warm]
        )
        return slope * 3600

    @property
    def is_flat(self) -> bool:
        """Whether neither memory nor threads nor open files became more, within the bounds above."""
        first_mib, last_mib = self.first_and_last("resident_mib")
        counts = [self.first_and_last(what) for what in ("threads", "open_files")]
        return last_mib <= first_mib * (1 + MOST_GROWTH) and all(
            last <= first + MOST_MORE for first, last in counts
        )


class Watched:
    """The processes of a service, each with its samples, by their ids."""

    def __init__(self, service: Service) -> None:
        self._service = service
        self.processes: dict[int, Growth] = {}

    def look(self) -> None:
        """Take a sample of each."""
        for process in self._service.processes():
            for sample in _samples(process):
                self.processes.setdefault(process, Growth()).samples.append(sample)


def _samples(process: int) -> Iterator[Sample]:
    """None where the process has just ended."""
    folder = Path(f"/proc/{process}")
    try:
        told = dict(line.split(":", 1) for line in (folder / "status").read_text().splitlines())
        open_files = len(list((folder / "fd").iterdir()))
    except (FileNotFoundError, ProcessLookupError):
        return
    if "VmRSS" in told:
        resident_mib = int(told["VmRSS"].split()[0]) / _KIB_PER_MIB
        yield Sample(monotonic(), resident_mib, int(told["Threads"]), open_files)
