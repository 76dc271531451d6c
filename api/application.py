"""Puts the service together."""

from __future__ import annotations

import json

from flask import Flask

from api.documentation import documentation
from api.failures import answer_failures
from api.headers import add_security_headers
from api.openapi import mount, openapi_document
from api.packs.activating import ActivePack
from api.packs.at_work import keep_active
from api.packs.kept import MAX_PACK_BYTES
from api.problem_pages import problem_pages
from api.requests import refuse_ignored_query
from api.settings import Settings
from api.snapshot import Snapshot, give_back
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
    mount(app)
    app.register_blueprint(documentation)
    app.register_blueprint(problem_pages)
    app.before_request(refuse_ignored_query)
    app.after_request(add_security_headers)
    app.teardown_appcontext(give_back)
    answer_failures(app)
    active = ActivePack(app, store, lambda pack, number: snapshot_of(pack, store, number))
    active.start(checked)
    keep_active(app, active)
    return app


def snapshot_of(pack: Pack, store: Store, activation: int = 0) -> Snapshot:
    """What requests work with while `pack` is active, by the activation with this number."""
    openapi = json.dumps(openapi_document(pack)).encode()
    return Snapshot(pack, Decider(pack, engine_for(pack), DecisionCache()), store, openapi, activation)
