from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import gap, small_service, version
from small_pack import SMALL_PACK

from api.packs import kept
from api.packs.agreement import BITS, differences, random_facts
from api.packs.documents import Document, blank
from api.packs.proofs import prove_apart
from api.packs.proving import proof_of
from rules.engines import MatchLayer
from rules.engines.reference import ReferenceEngine
from rules.loading import load_files
from rules.pack import Pack
from rules.predicates import Facts


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    app = small_service(tmp_path_factory.mktemp("proofs"))
    yield app
    snapshot(app).store.close()


@pytest.fixture
def shop(service: Flask) -> FlaskClient:
    return service.test_client()


def uploaded(client: FlaskClient, files: Mapping[str, str]) -> str:
    response = client.post("/v1/packs", json={"files": files})
    assert response.status_code == 201, response.text
    assert response.json is not None
    digest: str = response.json["digest"]
    return digest


def test_a_pack_is_proven_in_a_process_of_its_own_and_the_proof_is_kept(shop: FlaskClient) -> None:
    digest = uploaded(shop, version(3))
    missing = shop.get(f"/v1/packs/{digest}/proof")
    assert (missing.status_code, (missing.json or {})["type"]) == (404, "/problems/proof-unknown")
    response = shop.post(f"/v1/packs/{digest}/proof")
    assert response.status_code == 200
    proof = response.json
    assert proof is not None
    assert (proof["passed"], proof["failure"], proof["faults"], proof["findings"]) == (True, None, [], [])
    assert (proof["rules"], proof["cases"], proof["cells"]) == (3, 1, 8)
    assert proof["agreement"]["cells"] == 2001
    assert proof["agreement"]["differences"] == []
    assert shop.get(f"/v1/packs/{digest}/proof").json == proof
    read = shop.get(f"/v1/packs/{digest}").json
    assert read is not None
    assert read["proven"] is True


def test_a_fault_is_told_with_its_place_its_cells_and_a_line_item_that_can_be_posted(
    shop: FlaskClient,
) -> None:
    digest = uploaded(shop, gap())
    proof = shop.post(f"/v1/packs/{digest}/proof").json
    assert proof is not None
    assert proof["passed"] is False
    (fault,) = proof["faults"]
    assert (fault["code"], fault["cells"]) == ("R601", 4)
    assert fault["places"][0]["file"]
    assert fault["witness"]["in_words"] == "airbag_cover = true"
    line_item = fault["witness"]["line_item"]
    assert line_item["part"]["features"] == ["airbag_cover"]
    # The pack in force has no gap there, so it answers.
    assert shop.post("/v1/procedures", json=line_item).status_code == 201


def test_a_failing_case_and_a_finding_fail_the_proof() -> None:
    files = version(2)
    case = files["cases/all.yaml"].replace("disposition: repair", "disposition: refer")
    document = proof_of([{**files, "cases/all.yaml": case}])
    assert document["passed"] is False
    assert [found["code"] for found in document["findings"]] == ["R401"]
    idle = "  - {id: idle, title: Idle, kind: consumable, source: common practice}\n"
    document = proof_of([{**files, "materials.yaml": files["materials.yaml"] + idle}])
    assert document["passed"] is False
    assert [found["file"] for found in document["findings"]] == ["materials.yaml"]


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("import os; os.kill(os.getpid(), 11)", "SIGSEGV"),
        ("import os; os.kill(os.getpid(), 9)", "SIGKILL"),
        ("raise RuntimeError('inside')", "exit code 1"),
        ("import time; time.sleep(60)", "did not end within 0.5 s"),
    ],
)
def test_a_process_that_crashes_or_hangs_is_a_failed_proof(code: str, says: str) -> None:
    child = (sys.executable, "-c", code)
    document = prove_apart([SMALL_PACK], child, 0.5 if "sleep" in code else 60)
    assert document["passed"] is False
    assert says in document["failure"]


def test_what_a_library_prints_does_not_get_into_the_proof() -> None:
    code = (
        "import os, sys; from api.packs import child;"
        "proof = child.proof_of;"
        "child.proof_of = lambda stack: os.write(1, b'noise') and proof(stack);"
        "child.main(int(sys.argv[1]))"
    )
    assert prove_apart([SMALL_PACK], (sys.executable, "-c", code))["passed"] is True


def test_only_one_proof_runs_at_a_time(
    shop: FlaskClient, service: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = uploaded(shop, version(8))

    def meanwhile(_stack: object) -> Document:
        response = service.test_client().post(f"/v1/packs/{digest}/proof")
        assert response.status_code == 429
        assert int(response.headers["Retry-After"]) > 0
        return blank("not run")

    monkeypatch.setattr(kept, "prove_apart", meanwhile)
    for _ in range(2):
        response = shop.post(f"/v1/packs/{digest}/proof")
        assert response.status_code == 200
        assert (response.json or {})["failure"] == "not run"


def test_a_proof_that_did_not_come_to_its_end_keeps_a_pack_from_being_activated(
    shop: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = uploaded(shop, version(9))
    monkeypatch.setattr(kept, "prove_apart", lambda stack: blank("its process was ended by SIGSEGV"))
    shop.post(f"/v1/packs/{digest}/proof")
    response = shop.put("/v1/packs/active", json={"digest": digest}, headers={"If-Match": "*"})
    assert response.status_code == 409
    assert (response.json or {})["errors"] == [{"detail": "its process was ended by SIGSEGV"}]


class Forgetful(ReferenceEngine):
    """Stands in for an engine that never fires one of its rules."""

    name = "forgetful"

    @contextmanager
    def evaluation(self) -> Iterator[MatchLayer]:
        yield lambda layer, facts: self._match(layer, facts) - {"promote-low-energy-plastics"}


def test_an_engine_that_says_something_else_is_found() -> None:
    pack = load_files([SMALL_PACK])
    listed = random_facts(pack, 200)
    found = list(differences(pack, Forgetful(pack), listed))
    promoted = [facts for facts in listed if facts["surface_energy"] == "low" and not facts["airbag_cover"]]
    assert [difference.facts for difference in found] == promoted
    assert all(difference.engine == "forgetful" for difference in found)
    assert list(differences(pack, ReferenceEngine(pack), listed)) == []


def test_vectors_that_say_something_else_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    from api.packs import agreement

    pack = load_files([SMALL_PACK])
    other = load_files([gap()])
    real = agreement.outcomes_of
    monkeypatch.setattr(agreement, "outcomes_of", lambda _pack, space: real(other, space))
    found = list(differences(pack, ReferenceEngine(pack), random_facts(pack, 50)))
    assert found
    assert {difference.engine for difference in found} == {BITS}
    assert {difference.said for difference in found} == {"other rules fire: refer-airbag-covers"}


def cells_of(pack: Pack, listed: list[Facts]) -> set[tuple[int, ...]]:
    return {pack.vocabulary.cells(facts) for facts in listed}


def test_the_same_cells_are_drawn_for_the_same_pack_and_they_reach_everywhere() -> None:
    pack = load_files([SMALL_PACK])
    assert random_facts(pack, 20) == random_facts(pack, 20)
    assert len(cells_of(pack, random_facts(pack, 200))) == 8
