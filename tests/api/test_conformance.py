"""The conformance kit: the client of the docs passes, one with a fault fails at the check for it alone."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

import pytest
import yaml
from click.testing import CliRunner
from driver import Driver, server_of
from faulty_clients import FAULTY, Client
from openapi_spec_validator import validate

from api.commands import main
from api.conformance.contract import contract, contract_yaml
from api.conformance.model import Status, Verdict
from api.conformance.report import as_text, passed
from api.conformance.run import CHECKS, verdicts_on
from api.conformance.service import Service, service_of_its_own

EXAMPLE = Path(__file__).parents[2] / "docs" / "conformance"
PAGE = EXAMPLE.parent / "conformance.md"
CONTRACT = EXAMPLE / "driver.yaml"
AT_ONCE = 7

IN_PEACE = "waits-scattered"
"""That waits are the same is seen only where no other run lets them differ."""

UNCLAIMED = "does not cache"


@contextmanager
def listening(driver: Driver) -> Iterator[str]:
    """The address of a driver in this process."""
    with server_of(driver) as server:
        thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()
        thread.join()
    driver.close()


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    with service_of_its_own() as made:
        yield made


def found_of(client: Client, service: Service) -> list[Verdict]:
    with listening(client.driver()) as address:
        return verdicts_on(address, service, "127.0.0.1", 0)


@pytest.fixture(scope="module")
def found(service: Service) -> dict[str, list[Verdict]]:
    """What is found of each client. Most of a run is waiting, so many are made at once."""
    clients = {**FAULTY, UNCLAIMED: Client(claims={"caches": False})}
    in_peace = clients.pop(IN_PEACE)
    with ThreadPoolExecutor(AT_ONCE) as threads:
        runs = threads.map(lambda client: found_of(client, service), clients.values())
        together = dict(zip(clients, runs, strict=True))
    return together | {IN_PEACE: found_of(in_peace, service)}


def test_every_check_has_a_client_that_it_finds() -> None:
    assert list(FAULTY) == [check.id for check in CHECKS]


@pytest.mark.parametrize("name", FAULTY)
def test_a_fault_is_found_by_its_check_and_by_no_other(found: dict[str, list[Verdict]], name: str) -> None:
    failed = {each.check.id: each.seen for each in found[name] if each.status is Status.FAILED}
    assert list(failed) == [name], failed
    assert failed[name]


@pytest.fixture
def example(tmp_path: Path) -> Iterator[str]:
    """The address of the driver of the docs, run as its page says."""
    process = subprocess.Popen(
        [sys.executable, str(EXAMPLE / "driver.py"), "0"], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    with process.stdout:
        yield process.stdout.readline().split()[-1]
        process.terminate()
        process.wait(10)


def test_the_client_of_the_docs_passes_every_check(example: str) -> None:
    result = CliRunner().invoke(main, ["conformance", example, "--format", "json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert told["passed"] is True
    assert [(each["id"], each["status"]) for each in told["checks"]] == [
        (check.id, "passed") for check in CHECKS
    ]


def test_what_failed_is_told_with_what_was_seen_why_it_matters_and_how_to_mend_it(
    found: dict[str, list[Verdict]], monkeypatch: pytest.MonkeyPatch
) -> None:
    # The name of the module is also that of the command.
    module = sys.modules["api.commands.conformance"]
    monkeypatch.setattr(module, "verdicts_on", lambda *_: found["webhook-once"])
    result = CliRunner().invoke(main, ["conformance", "http://127.0.0.1:9"])
    assert result.exit_code == 1
    assert "failed      webhook-once: " in result.stdout
    for told in ("seen: 2 of 2 were answered 2xx, and it was acted on 2 times", "why: ", "mend: "):
        assert told in result.stdout
    assert result.stdout.endswith(f"\n1 failed, {len(CHECKS) - 1} passed\n")


def test_what_a_client_does_not_claim_is_left_out(found: dict[str, list[Verdict]]) -> None:
    others = {each.check.id for each in found[UNCLAIMED] if each.status is not Status.PASSED}
    assert others == {"revalidates"}
    assert passed(found[UNCLAIMED])
    assert "left out    revalidates" in as_text(found[UNCLAIMED])


def test_what_was_never_seen_is_not_passed(found: dict[str, list[Verdict]]) -> None:
    """Where no webhook is taken, nothing is known of what comes of them."""
    status = {each.check.id: each.status for each in found["webhook-taken"]}
    assert status["webhook-once"] is Status.NOT_SEEN
    assert not passed([each for each in found["webhook-taken"] if each.status is not Status.FAILED])


def test_a_driver_that_breaks_the_contract_is_told_where() -> None:
    with listening(Client(claims={"caches": "yes"}).driver()) as address:
        result = CliRunner().invoke(main, ["conformance", address])
    told = "Error: what the driver answers to /configure: /caches must be true or false\n"
    assert (result.exit_code, result.output) == (2, told)


def test_without_a_driver_nothing_is_checked() -> None:
    result = CliRunner().invoke(main, ["conformance", "http://127.0.0.1:9"])
    assert result.exit_code == 2
    assert "no driver answers at http://127.0.0.1:9/configure" in result.output
    assert "start it, or name another URL" in result.output


def test_the_contract_is_published_and_valid() -> None:
    validate(contract())
    result = CliRunner().invoke(main, ["conformance", "--contract"])
    assert (result.exit_code, result.output) == (0, contract_yaml())
    assert CONTRACT.read_text(encoding="utf-8") == contract_yaml(), (
        "run `stagewright conformance --contract > docs/conformance/driver.yaml`"
    )
    assert yaml.safe_load(contract_yaml()) == contract()


def test_the_page_tells_of_every_check_in_order() -> None:
    rows = re.findall(r"^\| `([a-z-]+)` \| (.*) \|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert rows == [(check.id, check.holds) for check in CHECKS]
