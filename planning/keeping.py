"""Whether the windows of a situation can be kept at all, at the edges of the temperatures it may have."""

from __future__ import annotations

from collections.abc import Mapping

from planning.arranging import arranged
from planning.job import Job
from planning.temporal import InconsistentWindows
from planning.timeline import timeline
from rules.decision import Setting
from rules.pack import Pack, ParameterValue

ORDINARY_AREA_M2 = 1.0
ORDINARY_DAMAGE_MM = 100.0
"""The size of job at which windows are judged; a part of several square metres may need more hands."""


def why_not_kept(
    pack: Pack, present: frozenset[str], settings: Mapping[tuple[str, str], ParameterValue]
) -> str | None:
    """The windows that contradict each other when these stages are present, in words; None if none do.

    Waits are taken at both edges of each stage's own temperature range.
    """
    waits = [pack.stages[name].wait for name in present]
    edges_c = {edge for wait in waits for edge in (wait.valid_from_c, wait.valid_to_c)}
    for edge_c in sorted(edges_c):
        told = _why_not_at(edge_c, pack, present, settings)
        if told:
            return f"in air of {edge_c:g} °C {told}"
    return None


def _why_not_at(
    air_temperature_c: float,
    pack: Pack,
    present: frozenset[str],
    settings: Mapping[tuple[str, str], ParameterValue],
) -> str | None:
    # What a substrate fixes are temperature limits, never lags: any row will do.
    properties = next(iter(pack.substrates.values())).properties
    chosen = {key: Setting(value, ()) for key, value in settings.items()}
    job = Job(
        area_m2=ORDINARY_AREA_M2, damage_length_mm=ORDINARY_DAMAGE_MM, air_temperature_c=air_temperature_c
    )
    plan = arranged(pack, present, chosen, properties, job)
    work_min = {name: size.work_min.p50 for name, size in plan.sizes.items()}
    wait_min = {name: size.wait_min for name, size in plan.sizes.items()}
    try:
        timeline(list(plan.sizes), work_min, wait_min, plan.lags, None)
    except InconsistentWindows as error:
        return str(error)
    return None
