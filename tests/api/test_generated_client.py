"""A client that a generator makes from the OpenAPI document, unchanged by hand, asks a served process."""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest
from served import HOST, served

from api.openapi import openapi_yaml
from schemas.examples import FULL, MINIMAL
from storage.key_records import LINE_ITEMS
from storage.store import open_store

pytest.importorskip("openapi_python_client", reason="needs openapi-python-client (the extra `dev`)")

PACKAGE = "generated_shop_client"


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ModuleType]:
    """The package, made by the command of the generator and imported."""
    folder = tmp_path_factory.mktemp("generated")
    (folder / "openapi.yaml").write_text(openapi_yaml(), encoding="utf-8")
    # Without the hooks it does not lay the code out.
    (folder / "config.yaml").write_text("post_hooks: []\n", encoding="utf-8")
    options = ["--path", folder / "openapi.yaml", "--config", folder / "config.yaml", "--meta", "none"]
    generate = [sys.executable, "-m", "openapi_python_client", "generate", *options]
    subprocess.run([*generate, "--output-path", folder / PACKAGE], check=True, capture_output=True)
    sys.path.insert(0, str(folder))
    yield importlib.import_module(PACKAGE)
    sys.path.remove(str(folder))


@pytest.fixture(scope="module")
def client(generated: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The generated client with a key of a service in a process of its own."""
    folder = tmp_path_factory.mktemp("served")
    with served(folder, keyed=True) as port:
        store = open_store(f"sqlite:///{folder / 'store.sqlite3'}")
        key = store.keys.create("local", "generated", [LINE_ITEMS], "test", sandbox=True)
        store.close()
        with generated.AuthenticatedClient(base_url=f"http://{HOST}:{port}", token=key.text) as made:
            yield made


def module(name: str) -> Any:
    return importlib.import_module(f"{PACKAGE}.{name}")


def models() -> Any:
    return module("models")


def create(client: Any, body: dict[str, Any], **more: Any) -> Any:
    """The answer, typed, to a line item that was made from the classes of the client."""
    request = models().ProcedureRequest.from_dict(body)
    return module("api.procedures.create_procedure").sync_detailed(client=client, body=request, **more)


@pytest.mark.parametrize("body", [MINIMAL, FULL], ids=["minimal", "full"])
def test_a_procedure_is_issued_and_read_back_the_same(client: Any, body: dict[str, Any]) -> None:
    created = create(client, body, idempotency_key=f'"{body["damage"]["type"]}-{len(str(body))}"')
    assert created.status_code == 201
    procedure = created.parsed
    assert isinstance(procedure, models().ProcedureAnswer)
    assert isinstance(procedure.disposition, models().ProcedureAnswerDisposition)
    assert procedure.stages[0].work_min.p50 > 0
    read = module("api.procedures.read_procedure").sync(client=client, procedure_id=procedure.id)
    assert read == procedure


def test_enumerations_are_spelled_out_once(client: Any) -> None:
    """One class for each, by the name of its member."""
    condition, texture = models().PartCondition, models().PartTexture
    assert condition.REFINISHED == "refinished"
    part = models().Part(
        name="mirror cap", material="ABS", condition=condition.REFINISHED, texture=texture.SMOOTH
    )
    line_item = models().LineItem(reference="RO-20417-9")
    damage = models().Damage(type_=models().DamageType.SCRATCH, length_mm=30)
    request = models().ProcedureRequest(line_item=line_item, part=part, damage=damage)
    issue = module("api.procedures.create_procedure")
    tried = issue.sync_detailed(client=client, body=request, dry_run=True)
    assert tried.status_code == 200, tried.content
    numbered = [each.__name__ for each in vars(models()).values() if "Type1" in getattr(each, "__name__", "")]
    assert numbered == []


def test_a_refusal_is_typed_too(client: Any) -> None:
    wrong = {**MINIMAL, "part": {**MINIMAL["part"], "material": "unobtainium"}}
    refused = create(client, wrong)
    assert refused.status_code == 422
    problem = refused.parsed
    assert isinstance(problem, models().ProblemAnswer)
    assert (problem.type_, problem.status) == ("/problems/material-unknown", 422)
    assert [(each.pointer, each.value) for each in problem.errors] == [("/part/material", "unobtainium")]


def test_a_list_is_read_page_by_page(client: Any) -> None:
    reference, issued = "RO-20417-7", []
    for length_mm in (40, 50, 60):
        damage = {"type": "crack", "length_mm": length_mm}
        body = {**MINIMAL, "line_item": {"reference": reference}, "damage": damage}
        issued.append(create(client, body).parsed.id)
    find = module("api.procedures.find_procedures").sync_detailed
    found, asked = [], {"line_item": reference, "limit": 2}
    for _ in range(2):
        page = find(client=client, **asked)
        found += [each.id for each in page.parsed.items]
        following = page.headers.get("Link")
        if following is not None:
            asked["cursor"] = following.partition("cursor=")[2].partition("&")[0].partition(">")[0]
    assert found == issued[::-1]
    assert following is None


def test_what_is_answered_with_nothing_but_a_status_is_no_fault(client: Any) -> None:
    (issued,) = [create(client, MINIMAL).parsed]
    read = module("api.procedures.read_procedure").sync_detailed
    assert read(client=client, procedure_id=issued.id, if_none_match=f'"{issued.id}"').status_code == 304
