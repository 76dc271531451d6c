"""The page for whoever runs the service: its settings are the code's, its commands do what it says."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from api.running.environment import VARIABLES
from rules.loading import BASE_PACK, load_folder
from storage.store import open_store

PAGE = (Path(__file__).parent.parent / "docs" / "operation.md").read_text(encoding="utf-8")


def fenced(name: str) -> str:
    (found,) = re.findall(rf"```sh {name}\n(.*?)```", PAGE, re.DOTALL)
    return str(found)


def run(script: str, folder: Path) -> None:
    """With the programs of this environment."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    subprocess.run(["sh", "-euc", script], cwd=folder, check=True, env={**os.environ, "PATH": path})


def test_every_setting_of_the_environment_is_told_and_no_other() -> None:
    told = re.findall(r"^\| `(STAGEWRIGHT_[A-Z_]+)` \|", PAGE, re.MULTILINE)
    assert told == [variable.name for variable in VARIABLES]


def test_what_is_kept_is_restored_from_its_backup(tmp_path: Path) -> None:
    pack = load_folder(BASE_PACK)
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    store = open_store(url)
    store.keep_pack(pack)
    for _ in range(2):
        run(fenced("backup"), tmp_path)
    store.close()
    (tmp_path / "store.sqlite3").write_bytes(b"spoiled")
    run(fenced("restore"), tmp_path)
    restored = open_store(url, must_exist=True)
    assert restored.pack_files(pack.digest) == pack.files
    restored.close()
