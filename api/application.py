"""Puts the service together."""

from __future__ import annotations

import json

from flask import Flask

from api.batch.view import MAX_BATCH_BYTES
from api.deprecation import announce
from api.documentation import documentation
from api.events.addresses import WEBHOOK_NETWORKS
from api.failures import answer_failures
from api.headers import add_security_headers
from api.idempotency.repeating import answer_repeated
from api.keys.checking import check_callers
from api.limiting.failures import bound_failures
from api.limiting.holding import hold_to_quota
from api.openapi import mount, openapi_document
from api.packs.activating import ActivePack
from api.packs.at_work import AtWork, keep_at_work
from api.packs.kept import MAX_PACK_BYTES
from api.problem_pages import problem_pages
from api.request_ids import add_request_id
from api.requests import bound_body, refuse_encoded_slash, refuse_ignored_query
from api.running.logs import log_request
from api.running.metrics import Metrics, keep_metrics
from api.running.observing import observe
from api.running.telemetry import trace_requests
from api.sandbox.telling import tell_of_sandboxes
from api.settings import Settings
from api.snapshot import Snapshot, give_back, give_by
from rules.cache import DecisionCache
from rules.decider import Decider
from rules.engines.choose import engine_for
from rules.loading import check_folder
from rules.pack import Pack
from storage.store import Store, open_store

__all__ = ["Settings", "create_app"]


def create_app(settings: Settings) -> Flask:
    """The application, with a rule pack in force and its database brought to the present shape.

    In force is what the database says; the pack of `settings` only where it says nothing. Raises
    PackRefused where that one is needed and cannot be loaded, EngineLimit where the engine cannot take
    it, StoreUnavailable for a database that does not answer.
    """
    checked = check_folder(settings.pack_folder)
    store = open_store(settings.database_url)
    app = Flask("stagewright", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.config[MAX_PACK_BYTES] = settings.max_pack_bytes
    app.config[MAX_BATCH_BYTES] = settings.max_batch_bytes
    app.config[WEBHOOK_NETWORKS] = settings.webhook_networks
    # A path is what it says; a redirect to a shorter one would name the host that the caller names.
    app.url_map.merge_slashes = False
    metrics = Metrics()
    keep_metrics(app, metrics)
    if settings.telemetry:
        trace_requests(app)
    observe(app, log_request, metrics.note_request)
    mount(app)
    app.register_blueprint(documentation)
    app.register_blueprint(problem_pages)
    app.before_request(refuse_encoded_slash)
    app.before_request(bound_body)
    check_callers(app, settings.without_keys)
    bound_failures(app, settings)
    hold_to_quota(app, settings)
    app.before_request(refuse_ignored_query)
    app.after_request(add_security_headers)
    app.after_request(add_request_id)
    tell_of_sandboxes(app)
    announce(app)
    answer_repeated(app)
    app.teardown_appcontext(give_back)
    answer_failures(app)
    active = ActivePack(
        app,
        store,
        lambda pack, number: snapshot_of(pack, store, number, metrics),
        settings.shop_packs_in_memory,
    )
    active.start(checked)
    give_by(app, active)
    keep_at_work(app, AtWork(active, settings.max_packs_of_shop))
    return app


def snapshot_of(pack: Pack, store: Store, activation: int = 0, metrics: Metrics | None = None) -> Snapshot:
    """What requests work with while `pack` is active, by the activation with this number.

    Its look-ups of decisions are counted by `metrics`.
    """
    cache = DecisionCache() if metrics is None else DecisionCache(note=metrics.note_lookup)
    return Snapshot(pack, Decider(pack, engine_for(pack), cache), store, openapi_json, activation)


def openapi_json(pack: Pack) -> bytes:
    """The OpenAPI document with the vocabulary of a pack."""
    return json.dumps(openapi_document(pack)).encode()
