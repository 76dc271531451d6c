from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path
from threading import Event

import pytest
from checked_client import snapshot
from flask import Flask
from packs_at_hand import activate, etag, gap, keep, overlay, version

from api.packs.at_work import active_pack, at_work
from api.packs.background import Repeating
from api.packs.documents import Document, blank
from api.packs.proving import proof_of
from api.packs.reading import Files
from api.packs.watching import FolderWatch
from rules.loading import load_files
from storage.shops import LOCAL


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The folder that is watched; it holds the pack that is in force."""
    watched = tmp_path / "watched"
    save(watched, version(2))
    return watched


# Two saves in one tick of the file system's clock must not look alike.
moments_ns = count(1_800_000_000_000_000_000, 1_000_000)


def save(folder: Path, files: Files) -> None:
    for path, text in files.items():
        target, moment_ns = folder / path, next(moments_ns)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text)
        os.utime(target, ns=(moment_ns, moment_ns))


def watch(app: Flask, folder: Path, prove: Callable[[Sequence[Files]], Document] = proof_of) -> FolderWatch:
    return FolderWatch(folder, active_pack(app), snapshot(app).store, at_work(app).proofs, prove)


def look(watched: FolderWatch) -> None:
    """As often as it takes to see that nobody is saving any more."""
    for _ in range(3):
        watched.look()


def test_what_is_saved_is_proven_and_put_in_force(service: Flask, folder: Path) -> None:
    watched = watch(service, folder)
    look(watched)
    assert snapshot(service).activation == 1
    for activation, coats in ((2, 3), (3, 4), (4, 3)):
        save(folder, version(coats))
        look(watched)
        assert snapshot(service).pack.digest == load_files([version(coats)]).digest
        assert snapshot(service).activation == activation
    last = snapshot(service).store.activations.last(LOCAL)
    assert last is not None
    assert last.origin == "folder"
    assert snapshot(service).store.audit.verify().faults == ()


def test_a_watched_overlay_is_laid_on_the_base_of_the_service(service: Flask, tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    case = (
        "cases:\n  - {name: any, given: {material: PP, damage_type: crack}, expect: {disposition: repair}}\n"
    )
    save(shop, overlay(changes="amend: {stages: {wash: {work: {fixed_min: 7}}}}\n", cases=case))
    look(watch(service, shop))
    assert snapshot(service).pack.name == "shop"
    assert snapshot(service).pack.stages["wash"].work.fixed_min == 7


def test_a_folder_that_is_being_saved_is_left_until_it_is_whole(service: Flask, folder: Path) -> None:
    watched = watch(service, folder)
    look(watched)
    for coats in (3, 4, 5):
        save(folder, version(coats))
        watched.look()
        assert snapshot(service).activation == 1
    watched.look()
    assert snapshot(service).pack.digest == load_files([version(5)]).digest


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"rules/all.yaml": "rules: [}\n"}, "rules/all.yaml:1:9 R"),
        ({"pack.yaml": "\n"}, "pack.yaml:1:1 R"),
        (gap(), "R601 no rule decides a disposition"),
        (
            {"cases/all.yaml": version(2)["cases/all.yaml"].replace("repair", "refer")},
            "cases/all.yaml:4:14 R401",
        ),
        (
            {"pack.yaml": version(2)["pack.yaml"].replace("effective_from: 2026", "effective_from: 2199")},
            "holds from 2199-01-01",
        ),
    ],
)
def test_what_is_wrong_is_logged_once_and_the_pack_before_stays(
    service: Flask, folder: Path, caplog: pytest.LogCaptureFixture, files: Files, says: str
) -> None:
    first, watched = snapshot(service), watch(service, folder)
    look(watched)
    save(folder, files)
    for _ in range(3):
        look(watched)
    assert snapshot(service) is first
    assert caplog.text.count("the pack before stays") == 1
    assert says in caplog.text
    save(folder, version(3))
    look(watched)
    assert snapshot(service).pack.digest == load_files([version(3)]).digest


def test_a_proof_that_crashes_is_logged_and_the_pack_before_stays(
    service: Flask, folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    watched = watch(service, folder, lambda stack: blank("its process was ended by SIGSEGV"))
    save(folder, version(3))
    look(watched)
    assert snapshot(service).activation == 1
    assert "its process was ended by SIGSEGV" in caplog.text


def test_a_folder_that_goes_away_is_logged_and_the_pack_before_stays(
    service: Flask, folder: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    watched = watch(service, folder)
    look(watched)
    folder.rename(tmp_path / "moved")
    look(watched)
    assert snapshot(service).activation == 1
    assert "this is no folder" in caplog.text
    (tmp_path / "moved").rename(folder)
    save(folder, version(3))
    look(watched)
    assert snapshot(service).activation == 2


def test_starting_again_does_not_undo_that_somebody_went_back(
    service: Flask, folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    save(folder, version(3))
    look(watch(service, folder))
    client = service.test_client()
    client.post("/v1/packs/active/rollback", headers={"If-Match": etag(client)})
    started_again = watch(service, folder)
    look(started_again)
    assert snapshot(service).activation == 3
    assert "was replaced since" in caplog.text
    save(folder, version(4))
    look(started_again)
    assert snapshot(service).pack.digest == load_files([version(4)]).digest


def test_a_decision_taken_meanwhile_is_built_on_at_the_next_look(service: Flask, folder: Path) -> None:
    other = keep(service, version(9))
    client = service.test_client()

    def prove(stack: Sequence[Files]) -> Document:
        if snapshot(service).activation == 1:
            activate(client, other.digest)
        return proof_of(stack)

    watched = watch(service, folder, prove)
    save(folder, version(3))
    for _ in range(2):
        watched.look()
    assert snapshot(service).pack.digest == other.digest
    look(watched)
    assert snapshot(service).pack.digest == load_files([version(3)]).digest


def test_work_beside_the_requests_goes_on_after_a_failure(caplog: pytest.LogCaptureFixture) -> None:
    called = Event()
    calls: list[int] = []

    def action() -> None:
        calls.append(len(calls))
        if len(calls) <= 3:
            raise OSError("the disk is full")
        called.set()

    work = Repeating("looking", 0.001, action)
    work.start()
    assert called.wait(60)
    work.stop()
    assert caplog.text.count("looking failed; it will be tried again") == 1
    assert "the disk is full" in caplog.text
