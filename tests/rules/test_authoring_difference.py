"""Two packs compared by what they answer: exact against the reference, readable, and frank on its limits."""

from __future__ import annotations

import pytest
from furnished_packs import answer, every_cell, furnished
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import packs
from tiny_pack import SMALL, changed

from rules.authoring.difference.compare import Difference, difference
from rules.authoring.difference.joint import NotComparable
from rules.authoring.mutation.mutants import mutants_of
from rules.loading import BASE_PACK, load_files, load_folder

SOUND = load_files([SMALL])


def to(file: str, old: str, new: str) -> Difference:
    return difference(SOUND, load_files([changed(file, old, new)]))


def told(found: Difference) -> list[str]:
    return [line for group in found.groups for line in group.told]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_exactly_the_cells_that_are_answered_otherwise_are_counted(data: st.DataObject) -> None:
    first = furnished(data.draw(packs(max_rules=6)))
    second = first
    for _ in range(data.draw(st.integers(0, 2))):
        mutants = mutants_of(second)
        second = data.draw(st.sampled_from(mutants)).of(second) if mutants else second
    cells = [*every_cell(first)]
    unlike = [facts for facts in cells if answer(first, facts) != answer(second, facts)]
    found = difference(first, second)
    assert (found.cells, found.changed) == (len(cells), len(unlike))
    assert bool(found.groups) == bool(unlike)
    assert all(group.witness.facts in unlike for group in found.groups)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_a_comparison_turned_round_counts_the_same_cells(data: st.DataObject) -> None:
    first, second = (furnished(data.draw(packs(max_rules=4))) for _ in range(2))
    try:
        there = difference(first, second)
    except NotComparable:
        return
    back = difference(second, first)
    assert (there.cells, there.changed, len(there.notes)) == (back.cells, back.changed, len(back.notes))


def test_a_pack_is_like_itself() -> None:
    assert difference(SOUND, SOUND) == Difference(16, 0, (), ())
    base = load_folder(BASE_PACK)
    assert difference(base, base).groups == ()


def test_layout_names_of_rules_and_their_reasons_make_no_difference() -> None:
    found = to("rules/refinish.yaml", "id: promote\n", "id: promote-polyolefins\n")
    assert (found.groups, found.notes) == ((), ())


def test_what_changes_and_for_whom() -> None:
    found = to("rules/refinish.yaml", "damage_length_mm: {at_least: 300}", "damage_length_mm: {at_least: 10}")
    assert told(found) == ["repair becomes replace"]
    (group,) = found.groups
    assert (group.cells, found.changed, found.cells) == (2, 2, 16)
    assert group.witness.in_words() == "damage_length_mm = 10"
    assert group.witness.facts["damage_type"] == "crack"


def test_differences_seen_in_the_same_cells_stand_together() -> None:
    also = "require: [solvent-clean, prime]\n    set: {prime.coats: 3}\n    caution: [radar-limits]"
    found = to("rules/refinish.yaml", "require: [solvent-clean, prime]", also)
    assert [(group.told, group.cells) for group in found.groups] == [
        (("caution 'radar-limits' appears", "prime.coats 2 becomes 3"), 8)
    ]


@pytest.mark.parametrize(
    ("file", "old", "new", "line"),
    [
        (
            "rules/refinish.yaml",
            "adhesion-promoter.coats: 2",
            "adhesion-promoter.coats: 3",
            "adhesion-promoter.coats 2 becomes 3",
        ),
        ("stages.yaml", "coats: 2, abrasive: P320", "coats: 3, abrasive: P320", "prime.coats 2 becomes 3"),
        ("substrates.yaml", "bake_limit_c: 70", "bake_limit_c: 90", "prime.limit_c 70 becomes 90"),
        (
            "stages.yaml",
            "cautions: [solvent-vapour]",
            "cautions: [radar-limits]",
            "caution 'radar-limits' appears",
        ),
        (
            "stages.yaml",
            "title: Prime\n",
            "title: Prime thinly\n",
            "stage 'prime': title Prime becomes Prime thinly",
        ),
        (
            "stages.yaml",
            "not_after_min: 30",
            "not_after_min: 20",
            "stage 'adhesion-promoter': window.not_after_min 30 becomes 20",
        ),
        (
            "cautions.yaml",
            "signal: warning",
            "signal: danger",
            "caution 'solvent-vapour': signal warning becomes danger",
        ),
        ("rules/refinish.yaml", "reason: It can be repaired.", "reason: It can.", "reason 'It can.' appears"),
    ],
)
def test_every_part_of_an_answer_is_compared(file: str, old: str, new: str, line: str) -> None:
    assert line in told(to(file, old, new))


@pytest.mark.parametrize(
    ("file", "old", "new", "note"),
    [
        (
            "facts.yaml",
            "      scratch: Not deep.\n",
            "      scratch: Not deep.\n      dent: Pressed in.\n",
            "the fact 'damage_type' has the value 'dent' in B alone",
        ),
        (
            "facts.yaml",
            "default: false\n  damage_length_mm",
            "default: true\n  damage_length_mm",
            "the fact 'radar_zone', when nobody states it, is false in A and true in B",
        ),
        (
            "facts.yaml",
            "maximum: 3000",
            "maximum: 2000",
            "the fact 'damage_length_mm' runs from 0 to 3000 in A and from 0 to 2000 in B; compared is"
            " what lies in both",
        ),
        (
            "facts.yaml",
            "applies_when: {damage_type: crack}",
            "applies_when: {damage_type: [crack, scratch]}",
            "the fact 'damage_length_mm' applies in A when damage_type is crack, in B when damage_type is"
            " crack or scratch; compared is where both agree",
        ),
        (
            "substrates.yaml",
            "name: Polypropylene",
            "name: Poly",
            "material PP: name Polypropylene becomes Poly",
        ),
        ("substrates.yaml", "symbol: ABS", "symbol: PVC-U", "material PVC-U is only in B"),
        ("materials.yaml", "film_um: 40", "film_um: 50", "consumable 'primer': film_um 40 becomes 50"),
        (
            "pack.yaml",
            "effective_until: null",
            "effective_until: 2030-01-01",
            "A holds from 2026-01-01 until further notice, B from 2026-01-01 until 2030-01-01",
        ),
    ],
)
def test_what_lies_beside_the_answers_is_noted(file: str, old: str, new: str, note: str) -> None:
    assert note in to(file, old, new).notes


def test_a_cut_point_that_only_one_pack_has_is_a_finer_cell_in_both() -> None:
    files = changed("facts.yaml", "cut_points: [10, 300]", "cut_points: [10, 100, 300]")
    rules = files["rules/refinish.yaml"].replace("{at_least: 300}", "{at_least: 100}")
    found = difference(SOUND, load_files([{**files, "rules/refinish.yaml": rules}]))
    assert found.cells == 20
    assert [(group.told, group.cells) for group in found.groups] == [(("repair becomes replace",), 2)]
    assert found.groups[0].witness.in_words() == "damage_length_mm = 100"


def test_a_fact_that_only_one_pack_knows_says_for_whom_its_answers_change() -> None:
    fact = "  camera_zone: {about: A camera., kind: boolean, given_as: /part/camera, default: false}\n"
    rule = SMALL["rules/refinish.yaml"].replace(
        "when: {surface_energy: low}", "when: {surface_energy: low, camera_zone: false}"
    )
    files = {**SMALL, "facts.yaml": SMALL["facts.yaml"] + fact, "rules/refinish.yaml": rule}
    found = difference(SOUND, load_files([files]))
    assert "the fact 'camera_zone' is only in B; A answers as if nobody had stated it" in found.notes
    assert "stage 'adhesion-promoter' disappears" in told(found)
    assert all("camera_zone" in group.witness.in_words() for group in found.groups)


def test_a_fact_of_another_kind_is_not_compared_and_both_packs_are_asked_by_their_own() -> None:
    files = changed(
        "facts.yaml",
        "kind: boolean\n    given_as: /part/features/radar_zone\n    default: false",
        "kind: enumeration\n    values: {near: Near, far: Far}\n    given_as: /part/radar\n    default: far",
    )
    rules = (
        files["rules/refinish.yaml"]
        .replace("radar_zone: true", "radar_zone: near")
        .replace("radar_zone: false", "radar_zone: far")
    )
    found = difference(SOUND, load_files([{**files, "rules/refinish.yaml": rules}]))
    assert (
        "the fact 'radar_zone' is not the same kind of thing in both; no value of it is compared"
        in found.notes
    )
    assert "refer becomes repair" in told(found)
    assert found.cells == 32


def test_packs_without_a_material_in_common_cannot_be_compared() -> None:
    other = SMALL["substrates.yaml"].replace("symbol: PP", "symbol: PE").replace("symbol: ABS", "symbol: PS")
    cases = "cases: []\n"
    with pytest.raises(NotComparable, match="no material in common"):
        difference(SOUND, load_files([{**SMALL, "substrates.yaml": other, "cases/small.yaml": cases}]))


def test_an_overlay_is_compared_with_the_pack_below() -> None:
    base = load_folder(BASE_PACK)
    found = difference(base, load_folder(BASE_PACK.parent / "example-overlay"))
    assert {"stage 'photograph-damage' appears", "sand-primer.abrasive P320 becomes P400"} <= set(told(found))
    assert found.groups[0].cells >= found.groups[-1].cells


def test_policies_that_differ_are_told_beside_the_answers() -> None:
    text = "policies:\n  - {id: cheap, minimum_saving_pct: 5, why: Invented., source: invented}\n"
    with_one, stricter = (
        load_files([{**SMALL, "policies.yaml": text.replace("5", limit)}]) for limit in ("5", "9")
    )
    assert "policy 'cheap' is only in B" in difference(SOUND, with_one).notes
    found = difference(with_one, stricter)
    assert found.notes == ("policy 'cheap': minimum_saving_pct 5 becomes 9",)
    assert found.groups == ()
