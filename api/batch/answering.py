"""Line items of a batch: decided one by one, kept some at once.

Whatever goes wrong with one is its own answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import Any

from flask import Response
from marshmallow import ValidationError

from api.batch.item import Item, failures_answer, waiting
from api.batch.keys import begin, end, take_key
from api.idempotency.asking import as_kept
from api.issuing import issued, learned_by_shop, stated_by
from api.problem_types import LINE_ITEM_REFUSED
from api.problems import refused
from api.procedures import created, tried
from api.running.metrics import metrics_of
from api.running.telemetry import step
from api.shops import current_shop
from api.snapshot import Snapshot, current
from planning.learning.model import Learned
from schemas.faults import faults_of_body
from schemas.line_item.body import Body, ProcedureRequest
from storage.faults import StoreUnavailable
from storage.idempotency import Done
from storage.keeping import Issue
from storage.records import KeptProcedure
from storage.store import Store

AT_ONCE = 25
"""So many procedures are in memory at once, larger than as text, and written in one transaction."""

_SCHEMA = ProcedureRequest()


def answers(line_items: Sequence[Any], dry_run: bool) -> list[Response]:
    """The answer of each line item, as if it were sent alone, in their order. Raises StoreUnavailable."""
    snapshot, items = current(), [Item(given) for given in line_items]
    learned = learned_by_shop(snapshot)
    for item in items:
        take_key(item)
    if not dry_run:
        begin(items, snapshot.store.idempotency)
    _answer(waiting(items), snapshot, learned, dry_run)
    if not dry_run:
        end(items, snapshot.store.idempotency)
    return [item.response for item in items if item.response is not None]


def _answer(items: Sequence[Item], snapshot: Snapshot, learned: Mapping[str, Learned], dry_run: bool) -> None:
    """Portion by portion. Where the database fails, what is left is not tried."""
    for start in range(0, len(items), AT_ONCE):
        portion = items[start : start + AT_ONCE]
        for item in portion:
            with failures_answer(item):
                item.issue = _decided(item.given, snapshot, learned)
        if dry_run:
            _try(waiting(portion))
        else:
            try:
                _keep(waiting(portion), snapshot.store)
            except StoreUnavailable as error:
                with failures_answer(*waiting(items[start:])):
                    raise error
                return
        for item in portion:
            item.issue = None


def _decided(given: Any, snapshot: Snapshot, learned: Mapping[str, Learned]) -> Issue:
    line_item = _loaded(given)
    procedure = issued(line_item, snapshot.decider, learned)
    metrics_of().note_decision(procedure.document["disposition"])
    return procedure, stated_by(line_item, snapshot.pack, procedure)


def _loaded(given: Any) -> Body:
    try:
        loaded: Body = _SCHEMA.load(given)
    except ValidationError as error:
        raise refused(LINE_ITEM_REFUSED, faults_of_body(error, _SCHEMA)) from error
    return loaded


def _try(items: Iterable[Item]) -> None:
    for item in items:
        if item.issue is not None:
            item.response = tried(item.issue[0])


def _keep(items: Sequence[Item], store: Store) -> None:
    try:
        with step("storing"):
            issues = [item.issue for item in items if item.issue]
            kept = store.keep_procedures(current_shop(), issues, partial(_answers, items))
    except StoreUnavailable:
        raise
    except Exception as error:
        _keep_each(items, store, error)
        return
    for item, procedure in zip(items, kept, strict=True):
        item.response, item.begun = created(procedure), None


def _answers(items: Sequence[Item], kept: Sequence[KeptProcedure]) -> list[Done]:
    """What those with a key are answered with."""
    pairs = zip(items, kept, strict=True)
    return [(item.begun, as_kept(created(procedure))) for item, procedure in pairs if item.begun]


def _keep_each(items: Sequence[Item], store: Store, error: Exception) -> None:
    """One of them cannot be kept: it is found by keeping each alone."""
    if len(items) == 1:
        with failures_answer(*items):
            raise error
    else:
        for item in items:
            _keep([item], store)
