import json
import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result
from small_pack import SMALL_PACK, small_pack

from api.commands import main
from api.commands.packs import root_of
from rules.codes import CODES
from rules.findings import Finding
from rules.loading import BASE_PACK
from rules.places import Place

BROKEN_RULE = SMALL_PACK["rules/all.yaml"].replace("surface_energy", "surfaceenergy")


def run(*arguments: str | Path, stdin: str | None = None) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], input=stdin)


def every_command(command: click.Command, words: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    yield words
    if isinstance(command, click.Group):
        for name, below in command.commands.items():
            yield from every_command(below, (*words, name))


@pytest.mark.parametrize("words", list(every_command(main)))
def test_every_command_helps_with_an_example_that_starts_with_its_name(words: tuple[str, ...]) -> None:
    result = run(*words, "--help")
    assert result.exit_code == 0
    assert f"Example: {' '.join(('stagewright', *words))}" in " ".join(result.output.split())


def test_a_clean_pack_is_silent(tmp_path: Path) -> None:
    result = run("rules", "check", small_pack(tmp_path))
    assert (result.exit_code, result.output) == (0, "")


def test_a_clean_pack_is_an_empty_list_in_json(tmp_path: Path) -> None:
    result = run("rules", "check", small_pack(tmp_path), "--format", "json")
    assert (result.exit_code, json.loads(result.output)) == (0, [])


def test_a_fault_that_stops_loading_exits_1_and_names_file_line_and_column(tmp_path: Path) -> None:
    result = run("rules", "check", small_pack(tmp_path, rules=BROKEN_RULE))
    assert result.exit_code == 1
    assert result.output.startswith(f"{tmp_path}/rules/all.yaml:14:12 R")
    assert "surfaceenergy" in result.output


def test_a_check_that_fails_exits_2(tmp_path: Path) -> None:
    unused = SMALL_PACK["cautions.yaml"] + SMALL_PACK["cautions.yaml"].replace("cautions:\n", "").replace(
        "solvent-vapour", "never-asked-for"
    )
    result = run("rules", "check", small_pack(tmp_path, cautions=unused))
    assert result.exit_code == 2, result.output
    assert f"{tmp_path}/cautions.yaml:10:5 R207 " in result.output


def test_findings_as_json_and_as_annotations(tmp_path: Path) -> None:
    folder = small_pack(tmp_path, rules=BROKEN_RULE)
    (finding, *_) = json.loads(run("rules", "check", folder, "--format", "json").output)
    assert (finding["file"], finding["line"], finding["column"]) == ("rules/all.yaml", 14, 12)
    annotation = run("rules", "check", folder, "--format", "ci").output
    assert annotation.startswith(
        f"::error file={tmp_path}/rules/all.yaml,line=14,col=12,title={finding['code']}::"
    )


def test_a_folder_named_like_one_of_the_pack_is_still_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    small_pack(tmp_path / "rules", rules=BROKEN_RULE)
    assert run("rules", "check", "rules").output.startswith("rules/rules/all.yaml:14:12 ")


def test_a_folder_that_is_not_there_is_named_once_in_front_of_the_message(tmp_path: Path) -> None:
    result = run("rules", "check", tmp_path / "nowhere")
    assert result.exit_code == 1
    assert result.output.startswith(f"{tmp_path}/nowhere:1:1 R001 ")


@pytest.mark.parametrize(
    ("extends", "of_pack", "root"),
    [
        ("", "base", "{folder}/"),
        ("", "small", "{folder}/"),
        ("base", "base", f"{BASE_PACK}/"),
        ("base", "small", "{folder}/"),
    ],
)
def test_a_finding_in_the_pack_beneath_an_overlay_names_that_pack_s_file(
    tmp_path: Path, extends: str, of_pack: str, root: str
) -> None:
    (tmp_path / "pack.yaml").write_text(f"pack: {{name: small, extends: {extends or 'null'}}}\n")
    finding = Finding("R207", Place("cautions.yaml", 1, 1, of_pack), "")
    assert root_of(tmp_path, finding) == root.format(folder=tmp_path)


def test_passing_cases_and_the_rules_that_none_exercises(tmp_path: Path) -> None:
    result = run("rules", "test", small_pack(tmp_path))
    assert result.exit_code == 0
    assert "1 of 1 cases pass" in result.output
    assert "1 rules that no case exercises:\n  refer-airbag-covers\n" in result.output


def test_a_failing_case_exits_2_and_tells_what_differs(tmp_path: Path) -> None:
    wrong = SMALL_PACK["cases/all.yaml"].replace("disposition: repair", "disposition: refer")
    result = run("rules", "test", small_pack(tmp_path, cases=wrong))
    assert result.exit_code == 2
    assert f"{tmp_path}/cases/all.yaml:4:" in result.output
    assert "0 of 1 cases pass" in result.output


def test_no_case_at_all_is_a_failure(tmp_path: Path) -> None:
    result = run("rules", "test", small_pack(tmp_path, cases=None))
    assert result.exit_code == 2
    assert "has no case" in result.output


def test_cases_of_a_pack_that_cannot_be_loaded_exit_1(tmp_path: Path) -> None:
    assert run("rules", "test", small_pack(tmp_path, rules=BROKEN_RULE)).exit_code == 1


def test_facts_counts_what_a_pack_holds(tmp_path: Path) -> None:
    output = run("rules", "facts", small_pack(tmp_path)).output
    assert output.startswith("small 1.0.0: A small pack\n")
    counted = {name: count for count, name in (line.split() for line in output.splitlines()[2:])}
    assert counted == {
        "substrates": "2",
        "facts": "3",
        "rules": "3",
        "stages": "2",
        "cautions": "1",
        "materials": "1",
        "jurisdictions": "0",
        "policies": "0",
        "cases": "1",
        "assertions": "0",
    }


def test_every_code_has_a_meaning() -> None:
    for code in CODES.values():
        result = run("rules", "code", code.id.lower())
        assert result.exit_code == 0
        assert result.output.startswith(f"{code.id}  {code.title}\n")


def test_an_unknown_code_is_answered_with_those_there_are() -> None:
    result = run("rules", "code", "R999")
    assert result.exit_code == 1
    assert "'R999' is not a code; there are R001, " in result.output


def test_explain_shows_stages_in_order_with_rule_why_source_and_line(tmp_path: Path) -> None:
    given = '{"material": "polypropylene", "damage_type": "scratch"}'
    output = run("rules", "explain", small_pack(tmp_path), "-", stdin=given).output
    words = " ".join(output.split())
    assert output.startswith("PP (Polypropylene): repair\n")
    assert "assumed: airbag_cover is false" in words
    assert words.index("1. wash") < words.index("2. adhesion-promoter")
    assert re.search(
        r"2\. adhesion-promoter stages\.yaml:\d+ of small promote-low-energy-plastics, "
        r"rules/all\.yaml:13 of small: A film-former does not wet a polyolefin unaided\. "
        r"\(source: common practice\)",
        words,
    )
    assert "adhesion-promoter.coats is 2" in words
    assert "Cautions solvent-vapour" in words


def test_explain_shows_why_a_rule_did_not_fire_and_the_value_it_read(tmp_path: Path) -> None:
    given = '{"material": "ABS", "damage_type": "scratch", "airbag_cover": false}'
    words = " ".join(run("rules", "explain", small_pack(tmp_path), "-", stdin=given).output.split())
    assert "asks that surface_energy is low; but surface_energy is high" in words
    assert "asks that airbag_cover is true; but airbag_cover is false" in words


def test_explain_in_json(tmp_path: Path) -> None:
    facts = tmp_path / "facts.json"
    facts.write_text('{"material": "ABS", "damage_type": "scratch", "airbag_cover": true}')
    result = run("rules", "explain", small_pack(tmp_path / "pack"), facts, "--format", "json")
    answer = json.loads(result.output)
    assert answer["decision"]["disposition"] == "refer"
    assert answer["decision"]["order"] == []
    assert [entry["rule"] for entry in answer["explanation"]["not_fired"]] == [
        "promote-low-energy-plastics",
        "repair-what-is-safe",
    ]


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("{", "standard input: Expecting property name"),
        ('{"material": "PP", "material": "PP"}', "is given twice"),
        ("[]", "must be an object with a material and facts by name"),
        ('{"damage_type": "scratch"}', "must be an object with a material"),
        ('{"material": "unobtainium", "damage_type": "scratch"}', "material 'unobtainium'"),
        ('{"material": "PP"}', "fact 'damage_type' is missing"),
        ('{"material": "PP", "damage_type": "scrach"}', "did you mean 'scratch'? (read: \"scrach\")"),
        (
            '{"material": "PP", "damage_type": "scratch", "airbag_cover": "no"}',
            'must be true or false (read: "no")',
        ),
        ('{"material": "PP", "damage_typ": "scratch"}', "did you mean 'damage_type'?"),
    ],
)
def test_facts_at_fault_are_named_with_value_and_fix(tmp_path: Path, given: str, says: str) -> None:
    result = run("rules", "explain", small_pack(tmp_path), "-", stdin=given)
    assert result.exit_code == 1
    assert says in " ".join(result.output.split())
    assert isinstance(result.exception, SystemExit)


def test_a_pack_that_gives_no_single_answer_is_named(tmp_path: Path) -> None:
    gap = SMALL_PACK["rules/all.yaml"].replace(
        "when: {airbag_cover: true}", "when: {airbag_cover: true, damage_type: crack}"
    )
    given = '{"material": "PP", "damage_type": "scratch", "airbag_cover": true}'
    result = run("rules", "explain", small_pack(tmp_path, rules=gap), "-", stdin=given)
    assert result.exit_code == 1
    assert "the pack 'small' gives no single answer: no rule decides a disposition" in result.output


def test_explain_names_the_line_of_an_overlay_that_changed_a_stage(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    header = "pack: {name: shop, version: 1.0.0, title: A shop, effective_from: 2026-01-01, extends: base}\n"
    (shop / "pack.yaml").write_text(header)
    change = "amend:\n  stages:\n    wash: {title: Wash twice}\n"
    (shop / "changes.yaml").write_text(change)
    given = '{"material": "ABS", "condition": "factory_finish", "damage_type": "none"}'
    output = run("rules", "explain", str(shop), "-", stdin=given).output
    assert "wash  changes.yaml:3 of shop" in output
