"""Keys of a sandbox: kept apart from the shop, told in every answer, failures on demand and only there."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from checked_client import serving
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, caller, store_of, with_key
from packs_at_hand import activate, line_item, overlay
from small_pack import SMALL_PACK

from api.commands import main
from api.openapi import openapi_document
from api.sandbox import triggers
from api.sandbox.telling import HEADER
from api.sandbox.triggers import TRIGGERS
from rules.loading import BASE_PACK, load_files, load_folder
from schemas.examples import MINIMAL
from storage.key_records import ADMIN, LINE_ITEMS, WrittenKey
from storage.shops import LOCAL
from storage.store import open_store

PAGE = Path(__file__).parents[2] / "docs" / "sandbox.md"


def tried_out(app: Flask, shop: str = NORTH) -> FlaskClient:
    """A caller with a new key of the sandbox of a shop."""
    keys = store_of(app).keys
    return with_key(app, keys.create(shop, "integrator", [LINE_ITEMS, ADMIN], "command line", sandbox=True))


@pytest.fixture
def real(keyed: Flask) -> FlaskClient:
    return caller(keyed)


@pytest.fixture
def sandbox(keyed: Flask) -> FlaskClient:
    return tried_out(keyed)


def issued(client: FlaskClient, reference: str = "R1") -> str:
    response = client.post("/v1/procedures", json=line_item(reference))
    assert response.status_code == 201
    return str((response.json or {})["id"])


def listed(client: FlaskClient, reference: str = "R1") -> list[str]:
    return [each["id"] for each in (client.get(f"/v1/procedures?line_item={reference}").json or {})["items"]]


def test_what_is_issued_in_a_sandbox_is_nothing_to_its_shop(real: FlaskClient, sandbox: FlaskClient) -> None:
    tried = issued(sandbox, "R1")
    assert real.get(f"/v1/procedures/{tried}").status_code == 404
    assert (listed(real), listed(sandbox)) == ([], [tried])
    issued(real, "R2")
    assert listed(sandbox, "R2") == []


def test_reports_in_a_sandbox_leave_the_estimates_of_its_shop_alone(
    keyed: Flask, real: FlaskClient, sandbox: FlaskClient
) -> None:
    procedure = sandbox.get(f"/v1/procedures/{issued(sandbox)}").json or {}
    stage, before = procedure["stages"][0]["stage"], real.get("/v1/estimates").json
    report = {"actuals": [{"stage": stage, "work_min": 55.0}]}
    assert sandbox.post(f"/v1/procedures/{procedure['id']}/actuals", json=report).status_code == 200
    assert real.get("/v1/estimates").json == before
    store = store_of(keyed)
    assert store.estimates.of_shop(NORTH) == {}
    assert list(store.estimates.of_shop(f"{NORTH}~sandbox")) == [stage]


def test_every_answer_to_a_key_of_a_sandbox_says_so_and_no_other(
    real: FlaskClient, sandbox: FlaskClient
) -> None:
    asked: list[tuple[str, str, Any]] = [
        ("POST", "/v1/procedures", line_item()),
        ("POST", "/v1/procedures", {}),
        ("GET", "/v1/substrates", None),
        ("GET", "/v1/procedures/pr-nothing", None),
    ]
    for method, path, body in asked:
        assert sandbox.open(path, method=method, json=body).headers.get(HEADER) == "true", path
        assert HEADER not in real.open(path, method=method, json=body).headers, path
    # What asks for no key is nobody's, and neither is what the key is not for.
    for path in ("/livez", "/v1/packs"):
        assert HEADER not in sandbox.get(path).headers


def test_an_answer_that_is_given_again_says_so_too(sandbox: FlaskClient) -> None:
    headers = {"Idempotency-Key": '"k"'}
    first, again = (sandbox.post("/v1/procedures", json=line_item(), headers=headers) for _ in range(2))
    assert first.json == again.json
    assert again.headers["Idempotency-Replayed"] == again.headers[HEADER] == "true"


@pytest.mark.parametrize(
    ("reference", "status", "kind", "retry_after"),
    [
        ("sandbox-rate-limited", 429, "rate-limited", "1"),
        ("sandbox-unavailable", 503, "store-unavailable", "1"),
        ("sandbox-failure", 500, "internal-error", None),
        ("sandbox-running", 409, "idempotency-key-running", "2"),
        ("sandbox-key-reused", 422, "idempotency-key-reused", None),
    ],
)
def test_a_reference_brings_its_failure_every_time(
    sandbox: FlaskClient, reference: str, status: int, kind: str, retry_after: str | None
) -> None:
    headers = {"Idempotency-Key": f'"{uuid4()}"'}
    for _ in range(2):
        response = sandbox.post("/v1/procedures", json=line_item(reference), headers=headers)
        assert response.status_code == status
        assert (response.json or {})["type"] == f"/problems/{kind}"
        assert response.headers.get("Retry-After") == retry_after
        assert "Idempotency-Replayed" not in response.headers
    assert listed(sandbox, reference) == []
    # The key was let go, so that it is good for what is meant in earnest.
    assert sandbox.post("/v1/procedures", json=line_item("R1"), headers=headers).status_code == 201


@pytest.mark.parametrize("reference", TRIGGERS)
def test_to_a_real_key_such_a_reference_is_one_like_any_other(
    real: FlaskClient, reference: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(triggers.time, "sleep", lambda _: pytest.fail("a real key waited"))
    response = real.post("/v1/procedures", json=line_item(reference))
    assert response.status_code == 201
    plain = real.post("/v1/procedures", json=line_item("R1")).json or {}
    assert (response.json or {})["facts"] == plain["facts"]


def test_what_is_tried_out_is_not_in_the_figures_of_the_service(keyed: Flask, sandbox: FlaskClient) -> None:
    """Whoever watches them for failures is not alarmed by one that was asked for."""
    watching = caller(keyed, LOCAL, ADMIN)
    before = counted(watching)
    issued(sandbox)
    assert sandbox.post("/v1/procedures", json=line_item("sandbox-failure")).status_code == 500
    assert counted(watching) == before
    issued(caller(keyed))
    assert counted(watching) != before


def counted(client: FlaskClient) -> list[str]:
    """How many line items were decided, and answers to those that issue."""
    lines = client.get("/metrics").text.splitlines()
    wanted = ("stagewright_decisions_total", "stagewright_request_duration_seconds_count")
    return [line for line in lines if line.startswith(wanted) and "/metrics" not in line]


def test_a_slow_answer_takes_its_time_and_only_one_thread(
    sandbox: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    others: list[int] = []

    def sleep(seconds: float) -> None:
        assert seconds == triggers.SLOW_S
        others.append(sandbox.post("/v1/procedures", json=line_item("sandbox-slow")).status_code)

    monkeypatch.setattr(triggers.time, "sleep", sleep)
    assert sandbox.post("/v1/procedures", json=line_item("sandbox-slow")).status_code == 201
    assert others == [429]
    assert sandbox.post("/v1/procedures", json=line_item("sandbox-slow")).status_code == 201


@pytest.mark.parametrize("disposition", ["refer", "replace"])
def test_a_reference_brings_its_disposition_under_the_base_pack(tmp_path: Path, disposition: str) -> None:
    app = serving(tmp_path / "store.sqlite3", without_keys=False)
    sandbox = tried_out(app, "local")
    reference = f"sandbox-{disposition}"
    sent = {**MINIMAL, "line_item": {"reference": reference}}
    response = sandbox.post("/v1/procedures", json=sent)
    answered = response.json or {}
    assert (response.status_code, answered["disposition"]) == (201, disposition)
    assert answered["line_item"]["reference"] == reference
    assert answered["part"]["name"] == MINIMAL["part"]["name"]
    assert sandbox.get(answered["links"]["explanation"]).status_code == 200
    store_of(app).close()


def test_a_sandbox_has_a_shop_of_its_own_for_every_shop(keyed: Flask, sandbox: FlaskClient) -> None:
    other = tried_out(keyed, "south")
    assert other.get(f"/v1/procedures/{issued(sandbox)}").status_code == 404


def test_a_sandbox_works_by_the_rules_of_its_shop(
    keyed: Flask, real: FlaskClient, sandbox: FlaskClient
) -> None:
    def asked(client: FlaskClient) -> tuple[str, float]:
        answered = client.post("/v1/procedures", json=line_item()).json or {}
        (wash,) = [stage for stage in answered["stages"] if stage["stage"] == "wash"]
        assert client.get(answered["links"]["explanation"]).status_code == 200
        return answered["pack"]["digest"], wash["work_min"]["p50"]

    of_service = asked(sandbox)
    assert of_service == asked(real)
    house = overlay(changes="amend: {stages: {wash: {work: {fixed_min: 7}}}}\n")
    pack, store = load_files([SMALL_PACK, house]), store_of(keyed)
    store.packs.keep(NORTH, pack, laid_on=of_service[0])
    store.packs.keep_proof(NORTH, pack.digest, True, {"passed": True})
    assert activate(real, pack.digest).status_code == 200
    assert asked(sandbox) == asked(real)
    assert asked(sandbox)[0] == pack.digest
    assert asked(sandbox) != of_service
    assert asked(tried_out(keyed, "south")) == of_service


def test_the_sandbox_of_the_service_is_not_the_service(keyed: Flask) -> None:
    """Only `local` reads the figures of all shops; its sandbox does not."""
    response = tried_out(keyed, "local").get("/metrics")
    assert response.status_code == 403
    assert (response.json or {})["type"] == "/problems/service-only"


def test_the_description_tells_of_every_reference_and_of_the_header() -> None:
    document = openapi_document(load_folder(BASE_PACK))
    about = document["components"]["securitySchemes"]["key"]["description"]
    for reference, trigger in TRIGGERS.items():
        assert f"\n- `{reference}`: {trigger.about}" in about
    answer = document["paths"]["/v1/procedures"]["post"]["responses"]["201"]
    assert answer["headers"][HEADER] == {"$ref": "#/components/headers/Sandbox"}
    assert document["components"]["headers"]["Sandbox"]["schema"]["enum"] == ["true"]
    assert HEADER not in document["paths"]["/livez"]["get"]["responses"]["200"].get("headers", {})


def test_the_page_tells_of_every_reference() -> None:
    rows = [f"| `{reference}` | {trigger.about} |" for reference, trigger in TRIGGERS.items()]
    assert "\n".join(rows) in PAGE.read_text(encoding="utf-8")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_commands_make_keys_of_a_sandbox_and_empty_it(keyed: Flask, tmp_path: Path) -> None:
    at = ("--database", f"sqlite:///{tmp_path / 'store.sqlite3'}")
    made = run("keys", "create", "--name", "x", "--scope", LINE_ITEMS, "--shop", NORTH, "--sandbox", *at)
    written = WrittenKey.read(made.strip())
    assert written is not None
    assert written.sandbox
    sandbox, real = with_key(keyed, written), caller(keyed)
    tried, kept = issued(sandbox), issued(real)
    assert run("keys", "sandbox-reset", "--shop", NORTH, *at) == f"{NORTH}: its sandbox is empty\n"
    assert sandbox.get(f"/v1/procedures/{tried}").status_code == 404
    assert real.get(f"/v1/procedures/{kept}").status_code == 200
    assert issued(sandbox) == tried
    assert "faults" not in run("audit", "verify", *at)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("sandbox-reset", "--shop", "south"), "the shop 'south' has no sandbox"),
        (("sandbox-reset", "--shop", "west"), "there is no shop 'west'"),
        (("create", "--name", "x", "--scope", "rules", "--sandbox"), "leave out the scope 'rules'"),
    ],
)
def test_what_a_sandbox_cannot_do_is_told(
    keyed: Flask, tmp_path: Path, arguments: tuple[str, ...], says: str
) -> None:
    at = ("--database", f"sqlite:///{tmp_path / 'store.sqlite3'}")
    result = CliRunner().invoke(main, ["keys", *arguments, *at])
    assert result.exit_code == 1
    assert says in result.output


def test_a_shop_that_is_deleted_takes_its_sandbox_along(keyed: Flask, sandbox: FlaskClient) -> None:
    issued(sandbox)
    store_of(keyed).shop_removal.delete(NORTH, "command line")
    store = open_store(str(store_of(keyed)._engine.url))
    assert [shop.id for shop in store.shops.all()] == ["local", "south"]
    assert sandbox.get("/v1/substrates").status_code == 401
    store.close()
