"""The page for whoever runs the service: its settings are the code's, its commands do what it says."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from api.running.environment import VARIABLES
from rules.loading import BASE_PACK, load_folder
from storage.store import open_store

PAGE = (Path(__file__).parent.parent / "docs" / "operation.md").read_text(encoding="utf-8")


def fenced(name: str) -> str:
    (found,) = re.findall(rf"```sh {name}\n(.*?)```", PAGE, re.DOTALL)
    return str(found)


def run(script: str, folder: Path) -> None:
    subprocess.run(["sh", "-euc", script], cwd=folder, check=True)


def test_every_setting_of_the_environment_is_told_and_no_other() -> None:
    told = re.findall(r"^\| `(STAGEWRIGHT_[A-Z_]+)` \|", PAGE, re.MULTILINE)
    assert told == [variable.name for variable in VARIABLES]


def test_what_is_kept_in_sqlite_is_restored_from_its_copy(tmp_path: Path) -> None:
    pack = load_folder(BASE_PACK)
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    store = open_store(url)
    store.keep_pack(pack)
    run(fenced("backup-sqlite"), tmp_path)
    store.close()
    (tmp_path / "store.sqlite3").write_bytes(b"spoiled")
    run(fenced("restore-sqlite"), tmp_path)
    restored = open_store(url, must_exist=True)
    assert restored.pack_files(pack.digest) == pack.files
    restored.close()
