"""Figures for Prometheus. They count all shops together, so only the service's own shop may read them.

What is counted again and again is added up over all processes, where PROMETHEUS_MULTIPROC_DIR names a folder
they share. What can be looked up (the pack in force, what waits in the outbox) is looked up when asked for.
"""

from __future__ import annotations

import os
from collections.abc import Iterable

from flask import Flask, current_app
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from api.running.metrics_folder import SHARED_FOLDER
from api.running.observing import Answered
from api.sandbox.telling import in_sandbox
from api.snapshot import Snapshot

MEDIA_TYPE = "text/plain"
CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"

_KEY = "stagewright-metrics"


class Metrics:
    """The figures of one application."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self._requests = Histogram(
            "stagewright_request_duration_seconds",
            "How long requests took, by method, template of the path and status.",
            ("method", "route", "status"),
            registry=self._registry,
        )
        self._decisions = Counter(
            "stagewright_decisions",
            "Line items that were decided, by disposition; dry runs count too.",
            ("disposition",),
            registry=self._registry,
        )
        self._lookups = Counter(
            "stagewright_decision_lookups",
            "Decisions asked for: hit, remembered from before; miss, worked out by the engine.",
            ("found",),
            registry=self._registry,
        )

    def note_request(self, answered: Answered) -> None:
        """Count a request, unless it only tried something out."""
        if in_sandbox():
            return
        labels = (answered.method, answered.route, str(answered.status))
        self._requests.labels(*labels).observe(answered.duration_s)

    def note_decision(self, disposition: str) -> None:
        """Count a decided line item, unless it was only tried out."""
        if not in_sandbox():
            self._decisions.labels(disposition).inc()

    def note_lookup(self, hit: bool) -> None:
        """Count a decision that was asked for."""
        self._lookups.labels("hit" if hit else "miss").inc()

    def page(self, snapshot: Snapshot) -> bytes:
        """Everything in Prometheus' text format, with what `snapshot` tells. Raises StoreUnavailable."""
        looked_up = CollectorRegistry()
        looked_up.register(_LookedUp(snapshot, snapshot.store.deliveries.waiting()))
        return generate_latest(self._counted()) + generate_latest(looked_up)

    def _counted(self) -> CollectorRegistry:
        if SHARED_FOLDER not in os.environ:
            return self._registry
        registry = CollectorRegistry()
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]  # the library leaves it so
        return registry


class _LookedUp(Collector):
    def __init__(self, snapshot: Snapshot, undelivered: int) -> None:
        self._snapshot = snapshot
        self._undelivered = undelivered

    def collect(self) -> Iterable[Metric]:
        pack = self._snapshot.pack
        info = GaugeMetricFamily(
            "stagewright_pack_info",
            "The rule pack in force, and the engine that evaluates it; always 1.",
            labels=("name", "version", "digest", "engine"),
        )
        info.add_metric((pack.name, pack.version, pack.digest, self._snapshot.decider.engine.name), 1)
        yield info
        yield GaugeMetricFamily(
            "stagewright_outbox_events", "Events that wait for delivery.", value=self._undelivered
        )


def keep_metrics(app: Flask, metrics: Metrics) -> None:
    """Let the views of `app` count with `metrics`."""
    app.extensions[_KEY] = metrics


def metrics_of(app: Flask = current_app) -> Metrics:
    """The figures of an application, that of the request where none is named."""
    metrics: Metrics = app.extensions[_KEY]
    return metrics
