"""`stagewright rules prove`: what it says, and with which exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient
from small_pack import SMALL_PACK, small_pack

from api.commands import main
from rules.loading import BASE_PACK

GAP = SMALL_PACK["rules/all.yaml"].replace("when: {airbag_cover: true}", "when: {damage_type: crack}")


def prove(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["rules", "prove", *map(str, arguments)])


def test_a_sound_pack_is_proven(tmp_path: Path) -> None:
    result = prove(small_pack(tmp_path))
    assert result.exit_code == 0
    assert result.output.startswith("proven: 3 rules and 0 assertions over 8 cells in ")


def test_the_overlay_of_the_service_is_proven_with_the_assertions_of_the_base_pack() -> None:
    result = prove(BASE_PACK.parent / "example-overlay", "--format", "json")
    assert result.exit_code == 0
    document = json.loads(result.output)
    assert document["faults"] == []
    assert document["assertions"] >= 30


def test_a_fault_is_told_with_place_fix_count_and_example(tmp_path: Path) -> None:
    folder = small_pack(tmp_path, rules=GAP)
    result = prove(folder)
    assert result.exit_code == 2
    gap = next(line for line in result.output.splitlines() if " R601 " in line)
    assert gap.startswith(f"{folder}/pack.yaml:1:1 R601 no rule decides a disposition; add a rule, or widen")
    assert gap.endswith("; in 2 cells, for example: damage_type = scratch, airbag_cover = true")
    assert "faults: 3 rules" in result.output.splitlines()[-1]


def test_in_json_a_fault_has_a_line_item_that_can_be_posted(tmp_path: Path) -> None:
    document = json.loads(prove(small_pack(tmp_path, rules=GAP), "--format", "json").output)
    fault = next(fault for fault in document["faults"] if fault["code"] == "R601")
    assert fault["cells"] == 2
    assert fault["line_item"] == {
        "line_item": {"reference": "witness"},
        "part": {"name": "part", "material": "PP", "features": ["airbag_cover"]},
        "damage": {"type": "scratch"},
    }


def test_a_build_server_is_told_where_to_mark(tmp_path: Path) -> None:
    output = prove(small_pack(tmp_path, rules=GAP), "--format", "ci").output
    assert output.startswith("::error file=")


@pytest.mark.parametrize(("rules", "exit_code"), [("rules: [", 1), ("rules: []\n", 1), (None, 1)])
def test_a_pack_that_cannot_be_loaded_is_not_proven(
    tmp_path: Path, rules: str | None, exit_code: int
) -> None:
    result = prove(small_pack(tmp_path, rules=rules))
    assert result.exit_code == exit_code
    assert "proven" not in result.output


def test_a_pack_that_fails_a_check_is_not_proven(tmp_path: Path) -> None:
    unused = SMALL_PACK["rules/all.yaml"].replace("    require: [adhesion-promoter]\n", "")
    result = prove(small_pack(tmp_path, rules=unused))
    assert result.exit_code == 2
    assert "R206" in result.output


def test_the_witness_of_the_base_pack_can_be_posted(client: FlaskClient, tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    folder.mkdir()
    header = "name: shop, version: 1.0.0, title: A shop, effective_from: 2026-01-01, extends: base"
    (folder / "pack.yaml").write_text(f"pack: {{{header}}}\n", encoding="utf-8")
    (folder / "more.yaml").write_text(
        "assertions:\n  - {id: never-warped, when: {damage_type: warp}, never: {disposition: repair},"
        " why: A test., source: invented}\n",
        encoding="utf-8",
    )
    (fault,) = json.loads(prove(folder, "--format", "json").output)["faults"]
    answer = client.post("/v1/procedures", json=fault["line_item"])
    assert answer.json is not None
    assert (answer.status_code, answer.json["disposition"]) == (201, "repair")
    assert answer.json["facts"]["damage_type"] == "warp"
