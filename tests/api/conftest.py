from collections.abc import Iterator

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    database = tmp_path_factory.mktemp("store") / "store.sqlite3"
    application = serving(database)
    yield application
    snapshot(application).store.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()
