"""`stagewright rules explain --rule`: what one rule did, or what would have to change for it to fire."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result
from small_pack import small_pack

from api.commands import main

SCRATCHED = '{"material": "PP", "damage_type": "scratch"}'


def explain(folder: Path, *arguments: str, given: str = SCRATCHED) -> Result:
    words = ["rules", "explain", str(small_pack(folder)), "-", *arguments]
    return CliRunner().invoke(main, words, input=given)


def test_a_rule_that_did_not_fire_tells_what_would_fire_it(tmp_path: Path) -> None:
    output = explain(tmp_path, "--rule", "refer-airbag-covers").output
    words = " ".join(output.split())
    assert "asks that airbag_cover is true; but airbag_cover is false" in words
    assert "fires with airbag_cover = true" in words
    assert "promote-low-energy-plastics" not in output


def test_another_material_may_be_what_fires_it(tmp_path: Path) -> None:
    given = '{"material": "ABS", "damage_type": "scratch"}'
    output = explain(tmp_path, "--rule", "promote-low-energy-plastics", given=given).output
    assert "fires with material = PP" in output


def test_a_rule_that_fired_tells_what_it_did_alone(tmp_path: Path) -> None:
    output = explain(tmp_path, "--rule", "promote-low-energy-plastics").output
    assert "2. adhesion-promoter" in output
    assert "adhesion-promoter.coats is 2" in output
    assert "wash" not in output
    assert "Rules that did not fire" not in output
    assert "Nothing speaks against it." in explain(tmp_path, "--rule", "repair-what-is-safe").output


def test_a_rule_that_nothing_fires_says_so(tmp_path: Path) -> None:
    rules = (small_pack(tmp_path) / "rules" / "all.yaml").read_text(encoding="utf-8")
    when = "{surface_energy: low, any: [{surface_energy: high}]}"
    never = f"  - {{id: never, when: {when}, caution: [solvent-vapour], why: A test., source: invented}}\n"
    folder = small_pack(tmp_path, rules=rules + never)
    words = ["rules", "explain", str(folder), "-", "--rule", "never"]
    assert "no facts make it fire" in CliRunner().invoke(main, words, input=SCRATCHED).output


def test_in_json_the_change_says_where_a_line_item_states_it(tmp_path: Path) -> None:
    document = json.loads(explain(tmp_path, "--rule", "refer-airbag-covers", "--format", "json").output)
    (entry,) = document["explanation"]["not_fired"]
    fact = {"fact": "airbag_cover", "value": True, "given_as": "/part/features/airbag_cover"}
    assert entry["change"] == {"material": None, "facts": [fact]}


def test_a_rule_that_is_none_is_refused_with_the_one_that_may_be_meant(tmp_path: Path) -> None:
    result = explain(tmp_path, "--rule", "refer-airbag-cover")
    assert result.exit_code == 2
    assert "did you mean 'refer-airbag-covers'?" in result.output
