from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import (
    activate,
    coats,
    in_an_hour,
    in_force,
    is_closed,
    issue,
    keep,
    make_due,
    version,
)
from small_pack import small_pack
from sqlalchemy import update

from api.application import Settings, create_app
from api.packs.at_work import active_pack
from api.snapshot import Snapshot
from rules.engines import Engine
from rules.loading import PackRefused
from rules.pack import Pack
from storage.activations import Activations
from storage.tables import packs


def test_another_process_on_the_same_database_follows(service: Flask, shop: FlaskClient) -> None:
    other = create_app(
        Settings(str(snapshot(service).store._engine.url), snapshot_folder(service), without_keys=True)
    )
    pack = keep(service, version(3))
    activate(shop, pack.digest)
    assert snapshot(other).pack.digest != pack.digest
    active_pack(other).follow()
    assert (snapshot(other).pack.digest, snapshot(other).activation) == (pack.digest, 2)
    snapshot(other).store.close()


def snapshot_folder(app: Flask) -> Path:
    database = Path(str(snapshot(app).store._engine.url).removeprefix("sqlite:///"))
    return database.parent / "pack"


def restarted(app: Flask, folder: Path | None = None) -> Flask:
    """The service, started again on the same database."""
    store = snapshot(app).store
    store.close()
    database = Path(str(store._engine.url).removeprefix("sqlite:///"))
    return serving(database, pack_folder=folder or database.parent / "pack")


def test_what_is_in_force_outlives_the_process_whatever_the_folder_holds(
    service: Flask, shop: FlaskClient, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    pack = keep(service, version(3))
    activate(shop, pack.digest)
    again = restarted(service)
    assert in_force(again.test_client()) == snapshot(again).pack.digest == pack.digest
    broken = small_pack(tmp_path / "broken", rules="rules: [}")
    for folder in (broken, tmp_path / "nowhere"):
        caplog.clear()
        again = restarted(again, folder)
        assert snapshot(again).pack.digest == pack.digest
        assert "the pack of the folder is not used" in caplog.text
    other = tmp_path / "other"
    shutil.copytree(tmp_path / "pack", other)
    (other / "more.yaml").write_text("cases: []\n")
    again = restarted(again, other)
    assert snapshot(again).pack.digest == pack.digest
    assert "is kept but not in force" in caplog.text
    listed = again.test_client().get("/v1/packs").json
    assert listed is not None
    assert len(listed["items"]) == 3
    snapshot(again).store.close()


def test_a_pack_at_fault_is_not_begun_with(tmp_path: Path) -> None:
    small = small_pack(tmp_path / "pack", rules="rules: [}")
    with pytest.raises(PackRefused):
        create_app(Settings(f"sqlite:///{tmp_path}/store.sqlite3", small, without_keys=True))


def damage(app: Flask, digest: str) -> None:
    with snapshot(app).store._engine.begin() as connection:
        connection.execute(update(packs).where(packs.c.digest == digest).values(files='{"small": {}}'))


def test_a_pack_that_cannot_be_read_any_more_leaves_the_one_before_in_force(
    service: Flask, shop: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    first, second = snapshot(service).pack, keep(service, version(3))
    activate(shop, second.digest)
    damage(service, second.digest)
    again = restarted(service)
    assert snapshot(again).pack.digest == first.digest
    assert "activation 2 is passed over" in caplog.text
    caplog.clear()
    for _ in range(2):
        active_pack(again).follow()
    assert snapshot(again).pack.digest == first.digest
    assert coats(issue(again.test_client())) == [2]
    snapshot(again).store.close()


def test_a_running_service_keeps_its_pack_when_the_next_one_cannot_be_read(
    service: Flask, shop: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    first, later = snapshot(service).pack, keep(service, version(3))
    activate(shop, later.digest, effective_from=in_an_hour())
    damage(service, later.digest)
    make_due(service, 2)
    for _ in range(3):
        active_pack(service).follow()
    assert snapshot(service).pack.digest == first.digest
    assert caplog.text.count("activation 2 is passed over") == 1


def test_whatever_fails_while_a_pack_is_made_ready_the_one_in_force_stays(
    service: Flask, shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, pack = snapshot(service), keep(service, version(3))
    service_pack = active_pack(service)._service
    build = service_pack.build
    engines: list[Engine] = []

    def fail(*_arguments: Any, **_options: Any) -> Any:
        raise OSError("no space left on the device")

    def build_noted(pack: Pack, number: int) -> Snapshot:
        built = build(pack, number)
        engines.append(built.decider.engine)
        return built

    monkeypatch.setattr(service_pack, "build", fail)
    assert activate(shop, pack.digest).status_code == 500
    monkeypatch.setattr(service_pack, "build", build_noted)
    for method in ("situations", "activate"):
        with monkeypatch.context() as failing:
            failing.setattr(Activations, method, fail)
            assert activate(shop, pack.digest).status_code == 500
    assert snapshot(service) is first
    assert in_force(shop) == first.pack.digest
    assert coats(issue(shop)) == [2]
    assert [is_closed(engine) for engine in engines] == [True, True]
    assert activate(shop, pack.digest).status_code == 200
