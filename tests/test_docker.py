"""The image, as far as it can be had without a container engine: what is copied is enough and all there is,
its steps run, and what they install serves an unprivileged user from files that are not its own."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path
from time import sleep
from typing import Any

import pytest
import requests

ROOT = Path(__file__).parent.parent
DOCKER = ROOT / "docker"
UNPRIVILEGED = 10001
AS_IN_THE_IMAGE: dict[str, Any] = (
    {"user": UNPRIVILEGED, "group": UNPRIVILEGED, "extra_groups": []} if os.getuid() == 0 else {}
)
LINE_ITEM = {
    "line_item": {"reference": "RO-20417-3"},
    "part": {"name": "front bumper cover", "material": "TPO", "condition": "factory_finish"},
    "damage": {"type": "crack", "length_mm": 80},
}

Step = tuple[str, str]
"""An instruction of the Dockerfile and what follows it."""


def stages() -> list[list[Step]]:
    """The instructions of each stage of the Dockerfile."""
    text = re.sub(r"^#.*\n", "", (DOCKER / "Dockerfile").read_text(encoding="utf-8"), flags=re.MULTILINE)
    steps = [line.split(maxsplit=1) for line in text.replace("\\\n", " ").splitlines() if line.strip()]
    found: list[list[Step]] = []
    for instruction, rest in steps:
        if instruction == "FROM":
            found.append([])
        found[-1].append((instruction, " ".join(rest.split())))
    return found


BUILD, IMAGE = stages()


def told(stage: list[Step], instruction: str) -> list[str]:
    return [rest for found, rest in stage if found == instruction]


def only(stage: list[Step], instruction: str) -> str:
    (found,) = told(stage, instruction)
    return found


def environment_of_the_image() -> dict[str, str]:
    return dict(pair.split("=", 1) for pair in only(IMAGE, "ENV").split())


def copied() -> Iterator[tuple[Path, str]]:
    """What the build copies out of the sources, and the folder it goes to."""
    for rest in told(BUILD, "COPY"):
        *sources, target = rest.split()
        yield from ((ROOT / source, target) for source in sources)


def let_through(path: str) -> bool:
    """Whether the ignore file, whose last word counts, lets a path into the build."""
    passed = True
    for pattern in (DOCKER / "Dockerfile.dockerignore").read_text(encoding="utf-8").split():
        bare = pattern.removeprefix("!")
        if fnmatch(path, bare) or fnmatch(path, f"{bare}/*") or bare == "**":
            passed = pattern != bare
    return passed


def test_every_path_that_is_copied_exists_and_is_let_into_the_build() -> None:
    for source, _ in copied():
        assert source.exists(), source
        assert let_through(source.relative_to(ROOT).as_posix()), source
    for kept_out in ("openapi.yaml", "tests/test_docker.py", ".git/config", "docker/compose.yaml", ".venv/x"):
        assert not let_through(kept_out), kept_out


def test_every_package_is_copied_and_nothing_that_is_no_part_of_the_service() -> None:
    setuptools = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    packages = {pattern.removesuffix("*") for pattern in setuptools["packages"]["find"]["include"]}
    assert {source.name for source, _ in copied() if source.is_dir()} == packages


def test_the_base_images_are_pinned_to_a_version_and_are_the_same() -> None:
    images = {only(stage, "FROM").split()[0] for stage in (BUILD, IMAGE)}
    assert len(images) == 1
    assert re.fullmatch(r"python:3\.1[12]\.\d+-slim-[a-z]+", images.pop())


def test_the_user_is_a_number_and_owns_what_is_kept_and_no_more() -> None:
    assert only(IMAGE, "USER") == f"{UNPRIVILEGED}:{UNPRIVILEGED}"
    assert IMAGE.index(("USER", only(IMAGE, "USER"))) > max(
        IMAGE.index(step) for step in IMAGE if step[0] in ("RUN", "COPY")
    )
    assert only(IMAGE, "VOLUME") == only(IMAGE, "WORKDIR") == "/var/lib/stagewright"
    assert not any("chown" in rest for _, rest in IMAGE)


def test_the_user_and_the_folder_can_be_made_as_the_image_makes_them(tmp_path: Path) -> None:
    if os.getuid() != 0 or not shutil.which("useradd"):
        pytest.skip("needs root and useradd")
    (tmp_path / "etc").mkdir()
    for name in ("passwd", "group", "shadow", "gshadow"):
        (tmp_path / "etc" / name).touch()
    script = re.sub(r"\b(groupadd|useradd) ", rf"\1 --prefix {tmp_path} ", only(IMAGE, "RUN"))
    subprocess.run(
        ["sh", "-euc", script.replace("/var/lib", f"{tmp_path}/var/lib")], check=True, capture_output=True
    )
    made = (tmp_path / "etc" / "passwd").read_text()
    assert re.fullmatch(r"stagewright:x:10001:10001:.*:/usr/sbin/nologin\n", made)
    folder = (tmp_path / "var" / "lib" / "stagewright").stat()
    assert (folder.st_uid, folder.st_gid) == (UNPRIVILEGED, UNPRIVILEGED)


@dataclass(frozen=True)
class Installed:
    """What the steps of the build have left: the sources that were copied, and what was installed."""

    sources: Path
    folder: Path
    state: Path

    @property
    def environment(self) -> dict[str, str]:
        """Of the image, but for where things are; and nothing from here."""
        ours = environment_of_the_image()
        return ours | {
            "PATH": ours["PATH"]
            .replace("/opt/stagewright", str(self.folder))
            .replace("$PATH", "/usr/bin:/bin"),
            "STAGEWRIGHT_DATABASE": ours["STAGEWRIGHT_DATABASE"].replace(
                "/var/lib/stagewright", str(self.state)
            ),
            "STAGEWRIGHT_LISTEN_HOST": "127.0.0.1",
            "STAGEWRIGHT_LISTEN_PORT": "0",
        }

    def run(self, *command: str) -> subprocess.CompletedProcess[str]:
        program = shutil.which(command[0], path=self.environment["PATH"])
        assert program
        return subprocess.run(
            [program, *command[1:]],
            cwd=self.state,
            env=self.environment,
            text=True,
            capture_output=True,
            **AS_IN_THE_IMAGE,
        )


@pytest.fixture(scope="module")
def installed() -> Iterator[Installed]:
    """What the build stage does, in a folder of its own."""
    python = interpreter()
    if python is None:
        pytest.skip("needs a Python from 3.11 on, with venv, that a user without privileges can run")
    refuse_without_index()
    with tempfile.TemporaryDirectory(prefix="stagewright-image-") as folder:
        work = Path(folder)
        work.chmod(0o755)
        made = Installed(work / "source", work / "opt" / "stagewright", work / "state")
        for source, target in copied():
            put(source, made.sources / target)
        made.state.mkdir()
        if AS_IN_THE_IMAGE:
            os.chown(made.state, UNPRIVILEGED, UNPRIVILEGED)
        before = everything_in(made.sources)
        script = told(BUILD, "RUN")[-1].replace("/opt/stagewright", str(made.folder))
        environment = {**os.environ, "PYTHON": python}
        environment.pop("PYTHONPATH", None)
        ended = subprocess.run(
            ["sh", "-euc", script], cwd=made.sources, env=environment, capture_output=True, text=True
        )
        assert ended.returncode == 0, ended.stderr
        assert everything_in(made.sources) == before
        yield made


def interpreter() -> str | None:
    """One that the unprivileged user can run too."""
    check = "import ensurepip, sys; sys.exit(sys.version_info < (3, 11))"
    for candidate in (getattr(sys, "_base_executable", sys.executable), "/usr/bin/python3"):
        try:
            found = subprocess.run([candidate, "-c", check], cwd="/", capture_output=True, **AS_IN_THE_IMAGE)
        except OSError:
            continue
        if found.returncode == 0:
            return str(candidate)
    return None


def refuse_without_index() -> None:
    with tempfile.TemporaryDirectory() as folder:
        asked = [
            sys.executable,
            "-m",
            "pip",
            "download",
            "--quiet",
            "--no-deps",
            "--dest",
            folder,
            "setuptools",
        ]
        if subprocess.run(asked, capture_output=True).returncode:
            pytest.skip("needs a package index that pip reaches")


def put(source: Path, target: Path) -> None:
    """As `COPY` does: the content of a folder, or a file into a folder; without what is ignored."""
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        target.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source, target)


def everything_in(folder: Path) -> dict[str, int]:
    """Every file and when it was changed last."""
    return {str(path): path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}


@contextmanager
def served(installed: Installed) -> Iterator[tuple[subprocess.Popen[bytes], str]]:
    """What the image starts, and its address."""
    program, *arguments = json.loads(only(IMAGE, "CMD"))
    path = shutil.which(program, path=installed.environment["PATH"])
    log = installed.state / "log"
    with log.open("w") as written:
        process = subprocess.Popen(
            [str(path), *arguments],
            cwd=installed.state,
            env=installed.environment,
            stdout=written,
            stderr=written,
            **AS_IN_THE_IMAGE,
        )
    try:
        yield process, f"http://127.0.0.1:{port_in(log, process)}"
    finally:
        process.terminate()
        process.wait(60)


def port_in(log: Path, process: subprocess.Popen[bytes]) -> int:
    for _ in range(600):
        text = log.read_text()
        found = re.search(r"Listening at: http://127\.0\.0\.1:(\d+)", text)
        if found and "in force: pack" in text:
            return int(found[1])
        assert process.poll() is None, text
        sleep(0.1)
    raise AssertionError(log.read_text())


def test_what_is_installed_serves_with_a_key_and_ends_in_peace(installed: Installed) -> None:
    before = everything_in(installed.folder)
    check = only(IMAGE, "HEALTHCHECK").partition("CMD ")[2]
    with served(installed) as (process, address):
        key = installed.run("stagewright", "keys", "create", "--name", "front desk", "--scope", "line-items")
        assert key.returncode == 0, key.stderr
        caller = {"Authorization": f"Bearer {key.stdout.strip()}"}
        answer = requests.post(f"{address}/v1/procedures", json=LINE_ITEM, headers=caller, timeout=60)
        assert (answer.status_code, answer.json()["pack"]["name"]) == (201, "base")
        assert requests.post(f"{address}/v1/procedures", json=LINE_ITEM, timeout=60).status_code == 401
        ready = requests.get(f"{address}/readyz", timeout=60)
        assert (ready.status_code, ready.json()["status"]) == (200, "ready")
        asked = json.loads(check.replace("http://127.0.0.1:8080/", f"{address}/"))
        assert installed.run(*asked).returncode == 0
        process.terminate()
        assert process.wait(60) == 0
        assert installed.run(*asked).returncode != 0
    assert everything_in(installed.folder) == before


def test_the_port_that_is_told_and_checked_is_the_one_it_listens_on() -> None:
    from api.settings import Settings

    assert only(IMAGE, "EXPOSE") == str(Settings().port)
    assert f"http://127.0.0.1:{Settings().port}/readyz" in only(IMAGE, "HEALTHCHECK")


def test_what_is_installed_brings_the_drivers_and_what_sends_traces(installed: Installed) -> None:
    for module in ("psycopg", "redis", "opentelemetry.sdk.trace", "api.running.tracing"):
        assert installed.run("python", "-c", f"import {module}").returncode == 0, module
