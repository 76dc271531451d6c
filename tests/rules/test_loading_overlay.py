"""An overlay laid on the small pack: what it adds, changes and withdraws, and where each thing is from."""

from __future__ import annotations

import pytest
from tiny_pack import OVERLAY_HEADER, SMALL, overlay

from rules.loading import check_files, load_files
from rules.places import Place

THIRD_COAT = "amend:\n  stages:\n    prime:\n      parameters: {coats: 3}\n"


def codes(stack) -> list[str]:
    return [found.code for found in check_files(stack).findings]


def test_an_overlay_of_a_header_alone_changes_nothing_but_who_it_is():
    pack, below = load_files(overlay()), load_files([SMALL])
    assert (pack.name, pack.version, str(pack.effective_from)) == ("shop", "1.0.0", "2026-02-01")
    assert pack.rules == below.rules
    assert pack.stages == below.stages
    assert pack.phases == below.phases
    assert pack.digest != below.digest


def test_mappings_are_merged_member_by_member_and_lists_replaced_whole():
    pack = load_files(
        overlay(
            amend="""\
amend:
  stages:
    prime:
      parameters: {coats: 3}
      after: [solvent-clean]
      work: {per_m2_min: 9}
"""
        )
    )
    prime, below = pack.stages["prime"], load_files([SMALL]).stages["prime"]
    assert prime.parameters == {"coats": 3.0, "abrasive": "P320"}
    assert prime.after == ("solvent-clean",)
    assert (prime.work.fixed_min, prime.work.per_m2_min) == (10.0, 9.0)
    assert (prime.title, prime.check) == (below.title, below.check)


@pytest.mark.parametrize(
    ("kind", "name", "member", "value"),
    [
        ("stages", "prime", "title", "Prime thinly"),
        ("cautions", "radar-limits", "hazard", "It is blinded."),
        ("materials", "primer", "source", "a label"),
        ("substrates", "ABS", "name", "Another name"),
    ],
)
def test_four_kinds_of_things_can_be_amended(kind, name, member, value):
    pack = load_files(overlay(amend=f"amend:\n  {kind}:\n    {name}: {{{member}: {value}}}\n"))
    assert getattr(getattr(pack, kind)[name], member) == value


def test_a_null_takes_a_member_away():
    pack = load_files(overlay(amend="amend: {stages: {prime: {check: null}}}\n"))
    assert pack.stages["prime"].check is None


def test_each_thing_tells_the_pack_it_came_from():
    pack = load_files(
        overlay(
            amend=THIRD_COAT,
            more="rules:\n"
            "  - {id: warn, when: always, caution: [solvent-vapour], why: It smells., source: invented}\n",
        )
    )
    assert pack.rules["warn"].place == Place("more.yaml", 2, 5, "shop")
    assert pack.rules["prepare"].place.pack == "small"
    assert pack.rules["prepare"].when.place.pack == "small"
    assert pack.stages["prime"].place == Place("amend.yaml", 3, 5, "shop")
    assert pack.stages["solvent-clean"].place.pack == "small"


def test_a_changed_thing_is_checked_like_a_new_one_at_the_line_that_changed_it():
    (found,) = check_files(overlay(amend=THIRD_COAT.replace("3", "none"))).findings
    assert (found.code, found.place) == ("R103", Place("amend.yaml", 4, 27, "shop"))


def test_what_a_change_breaks_elsewhere_is_found_where_it_is_broken():
    (found,) = check_files(overlay(amend="amend: {stages: {prime: {parameters: {spray: fine}}}}\n")).findings
    assert (found.code, found.place.pack) == ("R133", "shop")
    (found,) = check_files(overlay(amend="amend: {stages: {prime: {from_substrate: null}}}\n")).findings
    assert (found.code, found.place.pack) == ("R129", "small")


WITHDRAWN = "withdraw:\n  - {rule: promote, why: The shop paints no bare polyolefin.}\n"


def test_a_withdrawn_rule_is_gone_and_remembered_and_what_it_alone_used_is_no_fault():
    pack = load_files(overlay(withdraw=WITHDRAWN))
    assert "promote" not in pack.rules
    assert all("promote" not in layer for layer in pack.layers)
    place, why = pack.withdrawn["promote"]
    assert (place, why) == (Place("withdraw.yaml", 2, 5, "shop"), "The shop paints no bare polyolefin.")


def test_a_rule_may_still_override_one_that_is_withdrawn():
    withdrawn = "withdraw:\n  - {rule: prepare, why: It is done elsewhere.}\n"
    assert load_files(overlay(withdraw=withdrawn)).rules["replace-long-cracks"].overrides == ("prepare",)


def test_an_unused_thing_of_the_overlay_itself_is_a_fault():
    putty = "materials:\n  - {id: putty, title: Putty, kind: filler, source: invented}\n"
    assert codes(overlay(more=putty)) == ["R208"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("phases: [clean]\n", "R017"),
        ("amend: {rules: {promote: {require: [prime]}}}\n", "R142"),
        ("amend: {stages: {prime: {id: primer}}}\n", "R142"),
        ("withdraw:\n  - {rule: promot, why: A slip.}\n", "R121"),
        (WITHDRAWN + "  - {rule: promote, why: Twice.}\n", "R143"),
        (
            WITHDRAWN + "rules:\n"
            "  - {id: promote, when: always, caution: [solvent-vapour], why: Anew., source: invented}\n",
            "R141",
        ),
        ("facts:\n  radar_zone: {about: A zone., kind: boolean, given_as: /zone}\n", "R141"),
    ],
)
def test_what_an_overlay_cannot_do(text: str, code: str):
    assert codes(overlay(more=text)) == [code]


def test_the_closed_lists_are_the_base_packs():
    stack = [SMALL, {"pack.yaml": OVERLAY_HEADER + "labour: [body]\n"}]
    assert codes(stack) == ["R142"]


def test_a_pack_needs_the_one_it_extends_right_below_it():
    assert codes([{"pack.yaml": OVERLAY_HEADER}]) == ["R140"]
    assert codes([SMALL, SMALL]) == ["R140", "R140"]
    second = {"pack.yaml": OVERLAY_HEADER.replace("small", "shop").replace("name: shop", "name: bench")}
    assert load_files([*overlay(), second]).name == "bench"


def test_a_third_pack_changes_what_the_second_changed():
    second = OVERLAY_HEADER.replace("small", "shop").replace("name: shop", "name: bench")
    third = {"pack.yaml": second, "amend.yaml": THIRD_COAT.replace("coats: 3", "abrasive: P400")}
    pack = load_files([*overlay(amend=THIRD_COAT), third])
    assert pack.stages["prime"].parameters == {"coats": 3.0, "abrasive": "P400"}
    assert pack.stages["prime"].place.pack == "bench"


def test_a_rule_that_a_higher_pack_brings_back_stays():
    again = (
        "rules:\n  - {id: promote, when: always, caution: [solvent-vapour], why: Anew., source: invented}\n"
    )
    headers = [
        OVERLAY_HEADER.replace("small", below).replace("name: shop", f"name: {name}")
        for below, name in (("shop", "bench"), ("bench", "booth"))
    ]
    stack = [*overlay(withdraw=WITHDRAWN), {"pack.yaml": headers[0], "more.yaml": again}]
    assert load_files(stack).rules["promote"].place.pack == "bench"
    assert load_files([*stack, {"pack.yaml": headers[1]}]).rules["promote"].place.pack == "bench"


def test_cases_are_those_of_the_uppermost_pack():
    given = "{material: PP, damage_type: scratch}"
    own = f"cases:\n  - {{name: own, given: {given}, expect: {{disposition: repair}}}}\n"
    assert [case.name for case in check_files(overlay(own=own)).cases] == ["own"]
    assert check_files(overlay()).cases == ()
