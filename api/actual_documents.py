"""Reports of finished jobs and estimates as JSON and as rows of a table."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from math import exp, inf
from typing import Any

from planning.learning.learning import shop_speed
from planning.learning.model import Learned
from rules.pack import Pack
from schemas.actuals import RESULTS
from schemas.actuals_answer import STATES, TOLD
from schemas.figures import moment, plain
from schemas.procedure.document import pack_named
from storage.actual_records import Estimate, KeptActual, Report
from storage.estimates import learned_from
from storage.store import Store

Document = dict[str, Any]

LEVELS = {"p50": 0.50, "p80": 0.80, "p95": 0.95}

COLUMNS = (
    "procedure",
    "stage",
    "work_min",
    "started_at",
    "ended_at",
    "catalogue_min",
    "catalogue_spread",
    "check",
    "check_note",
    "remark",
    "reported_at",
    "state",
    "reason",
)


def actual_document(actual: KeptActual) -> Document:
    """A kept report."""
    report, state, reason = actual.report, actual.state.value, actual.reason
    return {
        "stage": report.stage,
        "work_min": _thousandth(report.spell.minutes),
        "started_at": moment(report.spell.started_at),
        "ended_at": moment(report.spell.ended_at),
        "catalogue_min": _thousandth(report.predicted_min),
        "check": _check(report),
        "remark": report.remark,
        "reported_at": moment(actual.reported_at),
        "state": state,
        "reason": reason and reason.value,
        "told": TOLD[reason] if reason is not None and state == "set_aside" else STATES[state],
    }


def estimates_document(store: Store, shop: str, pack: Pack) -> Document:
    """Every estimate of a shop that its reports or its admin touched, by the catalogue of `pack`."""
    found = store.estimates.of_shop(shop)
    learned = learned_from(found, spreads_of(pack))
    aside = store.estimates.set_aside(shop)
    items = [
        _estimate(pack, each, learned.get(stage), aside.get(stage, 0))
        for stage, each in found.items()
        if stage in pack.stages
    ]
    speed = shop_speed({stage: each.sums for stage, each in found.items()})
    return {"pack": pack_named(pack), "shop_factor": _thousandth(exp(speed)), "items": items}


def estimate_document(store: Store, shop: str, pack: Pack, stage: str) -> Document:
    """The estimate of one stage; those of the others are read too, as the speed of the shop is in it."""
    found = store.estimates.of_shop(shop)
    learned = learned_from(found, spreads_of(pack)).get(stage)
    aside = store.estimates.set_aside(shop, stage).get(stage, 0)
    return {"pack": pack_named(pack), **_estimate(pack, found.get(stage, Estimate(stage)), learned, aside)}


def spreads_of(pack: Pack) -> dict[str, float]:
    """The spread of the work of each stage of the catalogue."""
    return {stage: each.work.spread for stage, each in pack.stages.items()}


def as_json_lines(actuals: Iterable[KeptActual]) -> Iterator[str]:
    """One object a line, with the members of COLUMNS."""
    for actual in actuals:
        yield json.dumps(_row(actual)) + "\n"


def as_csv(actuals: Iterable[KeptActual]) -> Iterator[str]:
    """A table with a heading (RFC 4180).

    A text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    yield _line(COLUMNS)
    for actual in actuals:
        yield _line(_harmless(value) for value in _row(actual).values())


def _row(actual: KeptActual) -> Document:
    document, report = actual_document(actual), actual.report
    check = document["check"] or {"result": None, "note": None}
    own = {
        "procedure": actual.procedure_id,
        "catalogue_spread": report.predicted_spread,
        "check": check["result"],
        "check_note": check["note"],
    }
    return {name: own.get(name, document.get(name)) for name in COLUMNS}


def _line(values: Iterable[object]) -> str:
    text = io.StringIO()
    csv.writer(text).writerow(values)
    return text.getvalue()


def _harmless(value: object) -> object:
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@")) else value


def _estimate(pack: Pack, found: Estimate, learned: Learned | None, set_aside: int) -> Document:
    stage = pack.stages[found.stage]
    known = learned or Learned(1.0, stage.work.spread, inf, 0)
    return {
        "stage": stage.id,
        "title": stage.title,
        "jobs": known.jobs,
        "set_aside": set_aside,
        "factor": _thousandth(known.factor),
        "quantile_factors": {
            name: _thousandth(known.quantile_factor(level)) for name, level in LEVELS.items()
        },
        "frozen": found.frozen_at is not None,
        "frozen_at": moment(found.frozen_at),
        "reset_at": moment(found.reset_at),
    }


def _check(report: Report) -> Document | None:
    if report.check_passed is None:
        return None
    return {"result": RESULTS[0] if report.check_passed else RESULTS[1], "note": report.check_note}


def _thousandth(value: float) -> Any:
    return plain(round(value, 3))
