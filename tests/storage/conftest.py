"""The same repository tests on SQLite and, when one is reachable, on PostgreSQL."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest
from postgresql_at_hand import postgresql_schema
from whole_shop import NORTH, SOUTH, whole_shop

from rules.pack import Pack
from rules.vocabulary import Vocabulary
from storage.records import KeptProcedure
from storage.store import Store, open_store


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """One schema for all tests that do not mind what is in it."""
    with postgresql_schema() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A store with nothing in it."""
    with ExitStack() as stack:
        url = f"sqlite:///{tmp_path}/empty.sqlite3"
        if request.param == "postgresql":
            url = stack.enter_context(postgresql_schema())
        opened = open_store(url)
        stack.callback(opened.close)
        yield opened


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/store.sqlite3"
    url: str = request.getfixturevalue("postgresql_url")
    return url


@pytest.fixture
def store(database_url: str, pack: Pack) -> Iterator[Store]:
    opened = open_store(database_url)
    opened.keep_pack(pack)
    yield opened
    opened.close()


@pytest.fixture
def pack() -> Pack:
    """A pack that holds nothing but its files."""
    return Pack(
        name="invented",
        version="1.2.3",
        title="An invented pack",
        digest="sha256:" + "5" * 64,
        effective_from=date(2026, 1, 1),
        effective_until=None,
        vocabulary=Vocabulary({}),
        phases=(),
        resources=(),
        labour=(),
        rules={},
        stages={},
        cautions={},
        materials={},
        substrates={},
        layers=(),
        files={"invented": {"pack.yaml": "pack:\n  name: ünvented\n"}, "shop": {"z.yaml": "", "a.yaml": "x"}},
    )


@pytest.fixture
def two_shops(empty_store: Store, pack: Pack) -> Store:
    """With rows of two shops in every table that holds something of shops."""
    for shop in (NORTH, SOUTH):
        whole_shop(empty_store, pack, shop)
    return empty_store


@pytest.fixture
def issue(pack: Pack) -> Callable[..., KeptProcedure]:
    """A procedure with an id that no other test uses, as the PostgreSQL schema is shared."""

    def new(reference: str = "RO-20417-3", **document: object) -> KeptProcedure:
        return KeptProcedure(
            id=f"pr-{uuid4().hex}",
            reference=reference,
            pack_digest=pack.digest,
            document={"disposition": "repair", **document},
            facts={"damage_length_mm": 80.0, "through": True},
        )

    return new
