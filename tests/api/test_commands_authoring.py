"""The commands by which packs are written: fmt, diff, new-rule, schemas, coverage, mutate, table."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from click import ClickException
from click.testing import CliRunner, Result
from small_pack import SMALL_PACK, small_pack

from api.commands import main
from api.commands.writing import write_whole
from rules.codes import CODES
from rules.loading import BASE_PACK

UNTIDY = SMALL_PACK["rules/all.yaml"].replace("when: {airbag_cover: true}", "when:   {airbag_cover: true }")
LATER = SMALL_PACK["rules/all.yaml"].replace("adhesion-promoter.coats: 2", "adhesion-promoter.coats: 3")
CASE = SMALL_PACK["cases/all.yaml"].replace("coats: 2", "coats: 3")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["rules", *map(str, arguments)])


def files_in(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in folder.rglob("*.*")}


# fmt


def test_fmt_names_and_changes_the_files_that_are_not_laid_out(tmp_path: Path) -> None:
    folder = small_pack(tmp_path)
    run("fmt", folder)
    tidy = files_in(folder)
    (folder / "rules" / "all.yaml").write_text(UNTIDY, encoding="utf-8")
    result = run("fmt", folder)
    assert (result.exit_code, result.output) == (0, f"{folder}/rules/all.yaml\n")
    assert files_in(folder) == tidy
    assert run("fmt", folder).output == ""
    assert run("check", folder).exit_code == 0


def test_fmt_check_changes_nothing_and_exits_2(tmp_path: Path) -> None:
    folder = small_pack(tmp_path)
    run("fmt", folder)
    assert run("fmt", folder, "--check").exit_code == 0
    (folder / "rules" / "all.yaml").write_text(UNTIDY, encoding="utf-8")
    result = run("fmt", folder, "--check")
    assert (result.exit_code, result.output) == (2, f"{folder}/rules/all.yaml\n")
    assert (folder / "rules" / "all.yaml").read_text(encoding="utf-8") == UNTIDY


def test_fmt_leaves_what_it_cannot_read_as_it_is(tmp_path: Path) -> None:
    folder = small_pack(tmp_path, rules="rules: [\n")
    result = run("fmt", folder)
    assert result.exit_code == 1
    assert f"{folder}/rules/all.yaml: left as it is: the file cannot be read" in result.output
    assert (folder / "rules" / "all.yaml").read_text(encoding="utf-8") == "rules: [\n"
    assert run("fmt", tmp_path / "nowhere").exit_code == 1


def test_a_file_keeps_its_permissions_and_a_failed_writing_leaves_it_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.yaml"
    file.write_text("old", encoding="utf-8")
    file.chmod(0o640)
    write_whole(file, "new")
    assert stat.S_IMODE(file.stat().st_mode) == 0o640

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(ClickException, match="cannot be written: No space left on device"):
        write_whole(file, "newer")
    assert [path.read_text(encoding="utf-8") for path in tmp_path.iterdir()] == ["new"]


# diff


def test_diff_tells_what_changes_for_whom_and_exits_like_diff(tmp_path: Path) -> None:
    first = small_pack(tmp_path / "a")
    second = small_pack(tmp_path / "b", rules=LATER, cases=CASE)
    result = run("diff", first, second)
    assert result.exit_code == 1
    assert f"A is small 1.0.0 in {first}\nB is small 1.0.0 in {second}\n" in result.output
    assert "8 cells compared, 2 of them answered otherwise" in result.output
    assert "in 2 cells, for example: material = PP\n  adhesion-promoter.coats 2 becomes 3" in result.output
    assert run("diff", first, first).exit_code == 0


def test_diff_notes_what_it_cannot_compare(tmp_path: Path) -> None:
    more = SMALL_PACK["substrates.yaml"].replace("symbol: ABS", "symbol: PE-HD")
    result = run("diff", small_pack(tmp_path / "a"), small_pack(tmp_path / "b", substrates=more))
    assert result.exit_code == 1
    assert "beside that\n  material ABS is only in A\n  material PE-HD is only in B" in result.output


def test_diff_of_what_cannot_be_loaded_or_compared_exits_2(tmp_path: Path) -> None:
    first = small_pack(tmp_path / "a")
    assert run("diff", first, tmp_path / "nowhere").exit_code == 2
    others = (
        SMALL_PACK["substrates.yaml"].replace("symbol: PP", "symbol: PE").replace("symbol: ABS", "symbol: PS")
    )
    result = run("diff", first, small_pack(tmp_path / "b", substrates=others, cases="cases: []\n"))
    assert result.exit_code == 2
    assert "no material in common" in result.output


def test_diff_shows_the_widest_groups_first_and_all_on_demand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.commands.comparing.SHOWN", 1)
    few = LATER.replace("require: [wash]", "require: [wash]\n    caution: [solvent-vapour]")
    first, second = small_pack(tmp_path / "a"), small_pack(tmp_path / "b", rules=few, cases=CASE)
    output = run("diff", first, second).output
    assert "and 1 more groups, narrower ones; --all shows them" in output
    assert "coats" in run("diff", first, second, "--all").output


# new-rule


def test_new_rule_writes_a_rule_and_a_case_with_gaps(tmp_path: Path) -> None:
    folder = small_pack(tmp_path)
    result = run("new-rule", folder, "promote-more", "--file", "promoting.yaml")
    assert result.exit_code == 0
    assert f"{folder}/rules/promoting.yaml\n{folder}/cases/promoting.yaml\n" in result.output
    output = run("check", folder).output
    assert f"{folder}/rules/promoting.yaml:3:12 R012 unknown fact 'name_of_a_fact'" in output
    assert f"{folder}/rules/promoting.yaml:5:9 R011 a value is missing" in output


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("refer-airbag-covers",), "is there already"),
        (("Refer",), "write 'refer'"),
        (("new", "--file", "../elsewhere"), "a file cannot be called '../elsewhere'"),
    ],
)
def test_new_rule_refuses_what_it_cannot_add(tmp_path: Path, arguments: tuple[str, ...], says: str) -> None:
    folder = small_pack(tmp_path)
    before = files_in(folder)
    result = run("new-rule", folder, *arguments)
    assert result.exit_code == 1
    assert says in result.output
    assert files_in(folder) == before
    assert "holds no pack.yaml" in run("new-rule", tmp_path / "rules", "new").output


def test_new_rule_knows_the_rules_below_an_overlay(tmp_path: Path) -> None:
    header = "pack: {name: shop, version: '1', title: Shop, effective_from: 2026-01-01, extends: base}\n"
    (tmp_path / "pack.yaml").write_text(header, encoding="utf-8")
    assert "is there already" in run("new-rule", tmp_path, "class-coating").output


# schemas


def test_schemas_are_written_where_they_are_wanted(tmp_path: Path) -> None:
    result = run("schemas", tmp_path / "here")
    assert result.exit_code == 0
    schema = json.loads((tmp_path / "here" / "rules.json").read_text(encoding="utf-8"))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    shipped = BASE_PACK.parent / "schemas"
    assert files_in(tmp_path / "here").keys() == files_in(shipped).keys()


# test --coverage and mutate


def test_coverage_names_what_no_case_shows(tmp_path: Path) -> None:
    output = run("test", small_pack(tmp_path), "--coverage").output
    assert "4 of 8 points of coverage are seen (50.0 %)" in output
    place = f"{tmp_path}/rules/all.yaml:14:12"
    told = (
        "promote-low-energy-plastics: 'surface_energy is low' being false while all else lets the rule fire"
    )
    assert f"  {place} {told}\n" in output


def test_mutate_scores_kinds_and_lists_survivors_with_their_lines(tmp_path: Path) -> None:
    result = run("mutate", small_pack(tmp_path))
    assert result.exit_code == 0, result.output
    lines = result.output.splitlines()
    assert lines[0].split() == ["killed", "survived", "equivalent", "score"]
    scores = {line[:36].strip(): line[36:].split() for line in lines[1:8]}
    assert scores["flip a condition"][-2:] == ["100.0", "%"]
    killed, survived, equivalent = map(int, scores["all"][:3])
    assert scores["all"][3] == f"{100 * killed / (killed + survived):.1f}"
    assert equivalent > 0
    survivors = lines[lines.index("survived:") + 1 :]
    assert len(survivors) == survived > 0
    assert all(line.startswith(f"  {tmp_path}/rules/all.yaml:") for line in survivors)


def test_mutate_stops_in_time_and_says_how_many_it_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ticks = iter(range(0, 1000, 20))
    monkeypatch.setattr("api.commands.mutating.monotonic", lambda: next(ticks))
    output = run("mutate", small_pack(tmp_path), "--seconds", "60").output
    assert "more were not tried in the time given" in output


def test_mutate_wants_a_pack_that_passes_by_itself(tmp_path: Path) -> None:
    wrong = SMALL_PACK["cases/all.yaml"].replace("disposition: repair", "disposition: refer")
    result = run("mutate", small_pack(tmp_path / "a", cases=wrong))
    assert result.exit_code == 2
    assert "R401" in result.output
    assert "mend this first" in result.output
    gap = SMALL_PACK["rules/all.yaml"].replace(
        "{airbag_cover: true}", "{airbag_cover: true, damage_type: crack}"
    )
    result = run("mutate", small_pack(tmp_path / "b", rules=gap))
    assert result.exit_code == 2
    assert "R601" in result.output


# code and table


def test_a_code_is_told_with_a_bad_and_a_good_example() -> None:
    output = run("code", "R012").output
    assert CODES["R012"].example in output
    assert CODES["R012"].good in output
    assert "name a code; there are R001" in run("code").output


def test_pages_of_codes_are_written(tmp_path: Path) -> None:
    assert run("code", "--pages", tmp_path).exit_code == 0
    assert len(files_in(tmp_path)) == len(CODES) + 1


def test_a_table_of_line_items(tmp_path: Path) -> None:
    file = tmp_path / "items.yaml"
    file.write_text(
        "- {about: A part, part: {name: part, material: PP, features: []}, damage: {type: crack}}\n"
        "- about: A cover\n"
        "  part: {name: pad, material: ABS, features: [airbag_cover]}\n"
        "  damage: {type: crack}\n",
        encoding="utf-8",
    )
    output = run("table", file, small_pack(tmp_path / "pack")).output
    assert "| 1 | A part | `PP` | not said | crack | repair | 2 |\n" in output
    assert "| 2 | A cover | `ABS` | not said | crack | refer | none |\n" in output
    assert "1. Wash the part (`wash`)\n2. Apply adhesion promoter (`adhesion-promoter`)\n" in output


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{}", "must be a list of line items"),
        ("- {about: A part, part: {name: part}}", "A part: "),
        ("- {about: A part, part: {name: part, material: unobtainium}}", "unobtainium"),
        ("[", "items.yaml: "),
    ],
)
def test_line_items_at_fault_are_named(tmp_path: Path, text: str, says: str) -> None:
    file = tmp_path / "items.yaml"
    file.write_text(text, encoding="utf-8")
    result = run("table", file, small_pack(tmp_path / "pack"))
    assert result.exit_code == 1
    assert says in result.output
