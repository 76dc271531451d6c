"""Checks across a pack, where one planted fault is not enough."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from tiny_pack import RULES, SMALL, changed

from rules.loading import check_files

FILE = "rules/refinish.yaml"
LINE = RULES.count("\n") + 1


def more_rules(*rules: str, facts: str = "") -> dict[str, str]:
    """The small pack with further rules, each `{...}` but for why and source, and further derived facts."""
    lines = "".join(f"  - {{{rule}, why: A test., source: invented}}\n" for rule in rules)
    derived = "{about: A link., kind: boolean, origin: rules, default: false}"
    declared = "".join(f"  {fact}: {derived}\n" for fact in facts.split())
    return {**SMALL, FILE: RULES + lines, "facts.yaml": SMALL["facts.yaml"] + declared}


def findings(files):
    return [(found.code, found.place.line, found.message) for found in check_files([files]).findings]


def codes(files) -> list[str]:
    return [code for code, _, _ in findings(files)]


CIRCLE = more_rules(
    "id: one, when: {third: true}, conclude: {first: true}",
    "id: two, when: {first: true}, conclude: {second: true}",
    "id: three, when: {second: true}, conclude: {third: true}",
    facts="first second third",
)


def test_rules_in_a_circle_are_named_one_by_one_and_make_no_pack():
    checked = check_files([CIRCLE])
    (found,) = checked.findings
    assert checked.pack is None
    assert not found.stops_loading
    assert (found.code, found.place.line) == ("R201", LINE)
    assert found.message.startswith(
        "rules read what they conclude: 'one' reads third, which 'three' concludes; "
        "'three' reads second, which 'two' concludes; 'two' reads first, which 'one' concludes; "
    )


def test_the_same_circle_is_named_in_every_run():
    """Sets of names are ordered differently from run to run; findings are not."""
    code = (
        "from test_checks_pack import CIRCLE, findings, more_rules\n"
        "print(findings(CIRCLE))\n"
        "print(findings(more_rules(*(f'id: r{each}, when: {{a: true}}, conclude: {{a: true, b: true}}'"
        " for each in range(9)), facts='a b')))"
    )
    here = Path(__file__).parent
    path = os.pathsep.join([str(here), str(here.parent.parent)])
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(said) == 1


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("{radar_zone: false, surface_energy: low}", "{surface_energy: low, radar_zone: false}", ["R215"]),
        ("{damage_type: [crack, scratch]}", "{damage_type: [scratch, crack]}", ["R215"]),
        (
            "{any: [{radar_zone: true}, {surface_energy: low}]}",
            "{any: [{surface_energy: low}, {radar_zone: true}]}",
            ["R215"],
        ),
        ("{bake_limit_c: {at_least: 60}}", "{bake_limit_c: {below: 60}}", []),
        ("{damage_type: crack}", "{damage_type: {not: crack}}", []),
        ("always", "{radar_zone: true}", []),
    ],
)
def test_the_order_of_a_condition_does_not_hide_a_contradiction(first: str, second: str, expected: list[str]):
    rules = [
        f"id: {name}, when: {when}, set: {{prime.abrasive: {grade}}}"
        for name, when, grade in (("one", first, "P400"), ("two", second, "P500"))
    ]
    assert codes(more_rules(*rules)) == expected


@pytest.mark.parametrize("overriding", ["one", "two"])
def test_a_rule_that_overrides_the_other_does_not_contradict_it(overriding: str):
    rules = []
    for name, other, grade in (("one", "two", "P400"), ("two", "one", "P500")):
        overrides = f", overrides: [{other}]" if name == overriding else ""
        rules.append(f"id: {name}, when: always, set: {{prime.abrasive: {grade}}}{overrides}")
    assert codes(more_rules(*rules)) == []


def test_rules_that_say_the_same_do_not_contradict_each_other():
    same = "when: always, set: {prime.abrasive: P400}, caution: [solvent-vapour]"
    assert codes(more_rules(f"id: one, {same}", f"id: two, {same}")) == []


def test_overriding_is_no_effect():
    assert codes(more_rules("id: idle, when: always, overrides: [prepare]")) == ["R216"]


def test_a_derived_fact_needs_both_somebody_to_conclude_it_and_somebody_to_read_it():
    assert codes(more_rules(facts="idle")) == ["R204", "R205"]


def test_a_line_items_fact_need_not_be_read():
    noted = "  paint_code:\n    about: A number.\n    kind: number\n    minimum: 0\n    maximum: 9\n"
    given = "    given_as: /finish/paint_code\n    default: 0\n"
    assert codes({**SMALL, "facts.yaml": SMALL["facts.yaml"] + noted + given}) == []


def test_a_wait_may_outlast_a_window_to_a_stage_that_does_not_wait_for_it():
    files = changed("stages.yaml", "wait: {minutes: 10,", "wait: {minutes: 45,")
    assert codes(files) == ["R211"]
    free = files["stages.yaml"].replace("after: [adhesion-promoter, solvent-clean]", "after: [solvent-clean]")
    assert codes({**files, "stages.yaml": free}) == []


def test_a_window_may_lead_to_a_stage_that_nothing_orders():
    order = changed("stages.yaml", "after: [adhesion-promoter, solvent-clean]", "after: [solvent-clean]")
    assert codes(order) == []


def test_a_word_means_one_material_whatever_the_letter_case():
    named = "name: Acrylonitrile-butadiene-styrene"
    assert codes(changed("substrates.yaml", named, f"{named}\n    aliases: [pp]")) == ["R213"]
    assert codes(changed("substrates.yaml", named, f"{named}\n    aliases: [abs]")) == []


def test_circles_beside_each_other_are_told_at_once():
    stages = SMALL["stages.yaml"].replace("    after: [solvent-clean]\n", "    after: [prime]\n")
    files = {**CIRCLE, "stages.yaml": stages}
    assert codes(files) == ["R201", "R202"]
