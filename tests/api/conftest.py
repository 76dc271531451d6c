from collections.abc import Iterator
from pathlib import Path

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, keyed_service
from packs_at_hand import small_service
from pages_at_hand import Exchange, conversation

from storage.shops import LOCAL
from storage.store import Store, open_store


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    database = tmp_path_factory.mktemp("store") / "store.sqlite3"
    application = serving(database)
    yield application
    snapshot(application).store.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Flask]:
    """A service of its own on the small pack."""
    app = small_service(tmp_path)
    yield app
    snapshot(app).store.close()


@pytest.fixture
def shop(service: Flask) -> FlaskClient:
    return service.test_client()


@pytest.fixture
def keyed(tmp_path: Path) -> Iterator[Flask]:
    """A service of its own that asks for keys, with the shops `north` and `south`."""
    app = keyed_service(tmp_path)
    yield app
    snapshot(app).store.close()


@pytest.fixture
def north(keyed: Flask) -> FlaskClient:
    """A caller with a key of the shop for everything."""
    return caller(keyed, NORTH)


@pytest.fixture
def south(keyed: Flask) -> FlaskClient:
    return caller(keyed, SOUTH)


@pytest.fixture
def local(keyed: Flask) -> FlaskClient:
    """The same for the shop that runs the service."""
    return caller(keyed, LOCAL)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A store without a service."""
    opened = open_store(f"sqlite:///{tmp_path / 'store.sqlite3'}")
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def shared_keyed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    """The same for all tests of a file that don't mind what the others leave behind."""
    app = keyed_service(tmp_path_factory.mktemp("keyed"))
    yield app
    snapshot(app).store.close()


@pytest.fixture(scope="module")
def held(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[list[Exchange]]:
    """The commands of the PAGE of a test file, sent to a service of their own."""
    app = serving(tmp_path_factory.mktemp("page") / "store.sqlite3")
    yield conversation(app.test_client(), request.module.PAGE)
    snapshot(app).store.close()
