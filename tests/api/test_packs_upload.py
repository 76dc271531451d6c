from __future__ import annotations

import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from checked_client import snapshot
from flask import Flask
from flask.testing import FlaskClient
from packs_at_hand import overlay, small_service, told, version
from werkzeug.test import TestResponse

from rules.loading import load_files


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    app = small_service(tmp_path_factory.mktemp("packs"))
    yield app
    snapshot(app).store.close()


@pytest.fixture
def shop(service: Flask) -> FlaskClient:
    return service.test_client()


def upload(client: FlaskClient, files: Any) -> TestResponse:
    return client.post("/v1/packs", json={"files": files})


def test_a_pack_is_kept_under_the_digest_of_its_files(shop: FlaskClient) -> None:
    response = upload(shop, version(4))
    assert response.status_code == 201
    assert response.json is not None
    assert response.json["digest"] == load_files([version(4)]).digest
    assert (response.json["name"], response.json["version"]) == ("small", "1.0.0")
    assert (response.json["active"], response.json["proven"], response.json["findings"]) == (False, None, [])
    assert response.headers["Location"] == response.json["links"]["self"]
    assert shop.get(response.headers["Location"]).json == response.json
    assert upload(shop, version(4)).json == response.json


def test_the_pack_in_force_stays_in_force(shop: FlaskClient) -> None:
    before = shop.get("/v1/packs/active").json
    upload(shop, version(5))
    assert shop.get("/v1/packs/active").json == before


def test_an_overlay_is_laid_on_the_base_the_service_runs_with(shop: FlaskClient, service: Flask) -> None:
    response = upload(shop, overlay(changes="amend: {stages: {wash: {work: {fixed_min: 7}}}}\n"))
    assert response.status_code == 201, response.text
    assert response.json is not None
    read = shop.get(response.json["links"]["files"]).json
    assert read is not None
    assert [layer["name"] for layer in read["layers"]] == ["small", "shop"]
    assert read["layers"][0]["files"] == dict(snapshot(service).pack.files["small"])
    # The uppermost layer can be sent again as it is.
    again = upload(shop, read["layers"][1]["files"])
    assert again.json is not None
    assert again.json["digest"] == response.json["digest"]


def test_a_zip_archive_of_the_folder_makes_the_same_pack(shop: FlaskClient, tmp_path: Path) -> None:
    content = BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, text in version(6).items():
            archive.writestr(f"my-pack/{path}", text)
    response = shop.post("/v1/packs", data=content.getvalue(), content_type="application/zip")
    assert response.status_code == 201, response.text
    assert response.json is not None
    assert response.json["digest"] == load_files([version(6)]).digest
    truncated = shop.post("/v1/packs", data=content.getvalue()[:-30], content_type="application/zip")
    told(truncated, 422, "archive-refused")


def test_every_finding_is_told_with_its_place(shop: FlaskClient) -> None:
    files = version(2)
    broken = files["rules/all.yaml"].replace("surface_energy", "surfaceenergy")
    problem = told(upload(shop, {**files, "rules/all.yaml": broken}), 422, "pack-refused")
    (error,) = problem["errors"]
    assert error["pointer"] == "/files/rules~1all.yaml"
    assert (error["file"], error["line"], error["column"]) == ("rules/all.yaml", 14, 12)
    assert error["code"].startswith("R")
    assert "surface_energy" in error["detail"]
    assert problem["detail"].startswith("rules/all.yaml:14:12 R")


@pytest.mark.parametrize(
    ("files", "pointer"),
    [
        ({}, "/files"),
        ({"rules/a.yaml": "rules: []\n"}, "/files"),
        ({"pack.yaml": "", "../up.yaml": ""}, "/files/..~1up.yaml"),
        ({"pack.yaml": "x" * 600_000}, "/files/pack.yaml"),
        ({f"f{number}.yaml": "" for number in range(300)}, "/files"),
        (overlay() | {"pack.yaml": overlay()["pack.yaml"].replace("small", "other")}, "/files/pack.yaml"),
    ],
)
def test_a_pack_that_cannot_be_loaded_is_not_kept(shop: FlaskClient, files: Any, pointer: str) -> None:
    before = shop.get("/v1/packs?limit=100").json
    problem = told(upload(shop, files), 422, "pack-refused")
    assert problem["errors"][0]["pointer"] == pointer
    assert len(problem["errors"]) <= 50
    assert shop.get("/v1/packs?limit=100").json == before


def test_a_pack_that_only_fails_a_check_is_kept_with_its_findings(shop: FlaskClient) -> None:
    files = version(2)
    idle = "  - {id: idle, title: Idle, kind: consumable, source: common practice}\n"
    response = upload(shop, {**files, "materials.yaml": files["materials.yaml"] + idle})
    assert response.status_code == 201
    assert response.json is not None
    (finding,) = response.json["findings"]
    assert finding["code"].startswith("R2")
    assert (finding["file"], finding["line"]) == ("materials.yaml", 3)


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ([], ""),
        ({}, "/files"),
        ({"files": None}, "/files"),
        ({"files": ["pack.yaml"]}, "/files"),
        ({"files": {"pack.yaml": {}}}, "/files/pack.yaml"),
        ({"files": {"pack.yaml": None}}, "/files/pack.yaml"),
        ({"files": {}, "name": "x"}, "/name"),
    ],
)
def test_a_body_of_another_form_is_refused_at_its_place(shop: FlaskClient, body: Any, pointer: str) -> None:
    problem = told(shop.post("/v1/packs", json=body), 422, "body-refused")
    assert [error["pointer"] for error in problem["errors"]] == [pointer]


def test_a_body_in_another_form_or_too_large_is_refused(shop: FlaskClient, service: Flask) -> None:
    for content_type in ("text/yaml", "application/x-zip", "multipart/form-data", None):
        response = shop.post("/v1/packs", data=b"{}", content_type=content_type)
        told(response, 415, "media-type-unsupported")
        assert response.headers["Accept"] == "application/json, application/zip"
    told(shop.post("/v1/packs", data=b"{", content_type="application/json"), 400, "malformed-json")
    large = b" " * (service.config["MAX_PACK_BYTES"] + 1)
    told(shop.post("/v1/packs", data=large, content_type="application/zip"), 413, "body-too-large")


def test_a_pack_may_be_larger_than_a_line_item(shop: FlaskClient, service: Flask) -> None:
    files = version(2)
    padded = {**files, "rules/all.yaml": "# a remark\n" * 30_000 + files["rules/all.yaml"]}
    assert len(padded["rules/all.yaml"]) > service.config["MAX_CONTENT_LENGTH"]
    assert upload(shop, padded).status_code == 201


def test_packs_are_listed_last_kept_first_with_the_one_in_force_marked(
    shop: FlaskClient, service: Flask
) -> None:
    last = upload(shop, version(7)).json
    assert last is not None
    found: list[Any] = []
    path: str = "/v1/packs?limit=2"
    while path:
        response = shop.get(path)
        assert response.json is not None
        assert len(response.json["items"]) <= 2
        found += response.json["items"]
        path = response.headers.get("Link", "").removeprefix("<").partition(">")[0]
    assert found[0] == last
    assert [each["digest"] for each in found if each["active"]] == [snapshot(service).pack.digest]
    told(shop.get("/v1/packs?cursor=x"), 422, "query-refused")
    told(shop.get("/v1/packs?limit=0"), 422, "query-refused")
    told(shop.get("/v1/packs?after=x"), 422, "query-refused")


@pytest.mark.parametrize("digest", ["0" * 64, "x", "%00", "ü", "a" * 500])
def test_a_digest_that_is_not_known_is_told(shop: FlaskClient, digest: str) -> None:
    for path in ("", "/files", "/proof", "/impact"):
        told(shop.get(f"/v1/packs/{digest}{path}"), 404, "pack-unknown")
    told(shop.post(f"/v1/packs/{digest}/proof"), 404, "pack-unknown")
