"""Puts the service together."""

from __future__ import annotations

import json

from flask import Flask

from api.documentation import documentation
from api.failures import answer_failures
from api.headers import add_security_headers
from api.openapi import mount, openapi_document
from api.problem_pages import problem_pages
from api.requests import refuse_ignored_query
from api.settings import Settings
from api.snapshot import Snapshot, use
from rules.cache import DecisionCache
from rules.decider import Decider
from rules.engines.choose import engine_for
from rules.loading import load_folder
from rules.pack import Pack
from storage.store import Store, open_store

__all__ = ["Settings", "create_app"]


def create_app(settings: Settings) -> Flask:
    """The application, with the pack of `settings` loaded and its database brought to the present shape.

    Raises PackRefused for a pack that cannot be loaded, StoreUnavailable for a database that does not answer.
    """
    pack = load_folder(settings.pack_folder)
    store = open_store(settings.database_url)
    store.keep_pack(pack)
    app = Flask("stagewright", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    mount(app)
    app.register_blueprint(documentation)
    app.register_blueprint(problem_pages)
    app.before_request(refuse_ignored_query)
    app.after_request(add_security_headers)
    answer_failures(app)
    use(app, snapshot_of(pack, store))
    return app


def snapshot_of(pack: Pack, store: Store) -> Snapshot:
    """What requests work with while `pack` is active."""
    decider = Decider(pack, engine_for(pack), DecisionCache())
    return Snapshot(pack, decider, store, json.dumps(openapi_document(pack)).encode())
