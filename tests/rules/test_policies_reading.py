"""Policies in pack files: what is read of them, and what is refused with its place and fix."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, overlay

from rules.conditions import All, OneOf
from rules.loading import BASE_PACK, check_files, load_files, load_folder

POLICY = """\
policies:
  - id: saves-something
    when: {damage_type: crack, needs_promoter: true}
    minimum_saving_pct: 10
    minimum_probability_pct: 60
    maximum_elapsed_min: 2880
    why: A small saving does not pay.
    source: invented
"""


def with_policies(text: str) -> dict[str, str]:
    return {**SMALL, "policies.yaml": text}


def found_in(text: str) -> list[str]:
    return [f"{found.code} {found.message}" for found in check_files([with_policies(text)]).findings]


def test_a_policy_is_read_whole() -> None:
    policy = load_files([with_policies(POLICY)]).policies["saves-something"]
    assert policy.when == All((OneOf("damage_type", ("crack",)), OneOf("needs_promoter", (True,))))
    assert policy.minimum_saving_pct == 10
    assert policy.minimum_probability_pct == 60
    assert policy.maximum_elapsed_min == 2880
    assert (policy.why, policy.source) == ("A small saving does not pay.", "invented")


def test_what_is_left_out_is_no_limit() -> None:
    text = "policies:\n  - {id: cheap, minimum_saving_pct: -5, why: Invented., source: invented}\n"
    policy = load_files([with_policies(text)]).policies["cheap"]
    assert policy.when == All(())
    assert policy.minimum_probability_pct is policy.maximum_elapsed_min is None
    assert load_files([SMALL]).policies == {}


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ("minimum_saving_pct", "minimum_savings_pct", "R101", "did you mean 'minimum_saving_pct'?"),
        ("    why: A small saving does not pay.\n", "", "R102", "add the line 'why: ...'"),
        ("damage_type", "damage_typ", "R012", "did you mean 'damage_type'?"),
        ("crack", "crak", "R110", "did you mean 'crack'?"),
        ("minimum_probability_pct: 60", "minimum_probability_pct: 101", "R106", "from 0 to 100"),
        ("minimum_saving_pct: 10", "minimum_saving_pct: -101", "R106", "from -100 to 100"),
        ("maximum_elapsed_min: 2880", "maximum_elapsed_min: -1", "R106", "at least 0"),
        ("maximum_elapsed_min: 2880", "maximum_elapsed_min: '2880'", "R103", "take the quotes away"),
    ],
)
def test_a_faulty_policy_is_refused(old: str, new: str, code: str, says: str) -> None:
    assert POLICY.count(old) == 1
    (told,) = found_in(POLICY.replace(old, new))
    assert told.startswith(code)
    assert says in told


def test_a_policy_that_asks_for_nothing_is_refused() -> None:
    (told,) = found_in("policies:\n  - {id: idle, why: Invented., source: invented}\n")
    assert told.startswith("R131")
    assert "minimum_saving_pct, minimum_probability_pct or maximum_elapsed_min" in told


def test_a_policy_of_a_name_that_is_there_is_refused() -> None:
    assert [each[:4] for each in found_in(POLICY + POLICY.split("\n", 1)[1])] == ["R107"]


def test_an_overlay_adds_amends_and_withdraws_policies() -> None:
    below = with_policies(POLICY + POLICY.split("\n", 1)[1].replace("saves-something", "other"))
    _, above = overlay(
        policies="policies:\n  - {id: own, minimum_saving_pct: 1, why: Invented., source: invented}\n",
        changes="amend: {policies: {saves-something: {minimum_saving_pct: 20, maximum_elapsed_min: null}}}\n"
        "withdraw: [{policy: other, why: Not in this shop.}]\n",
    )
    pack = load_files([below, above])
    assert list(pack.policies) == ["saves-something", "own"]
    amended = pack.policies["saves-something"]
    assert (amended.minimum_saving_pct, amended.maximum_elapsed_min) == (20, None)
    assert amended.minimum_probability_pct == 60
    assert pack.withdrawn == {}
    assert pack.digest != load_files([below]).digest


@pytest.mark.parametrize(
    ("changes", "code", "says"),
    [
        ("withdraw: [{policy: saves-somthing, why: No.}]\n", "R136", "did you mean 'saves-something'?"),
        ("amend: {policies: {saves: {minimum_saving_pct: 1}}}\n", "R136", "unknown policy 'saves'"),
        ("withdraw: [{policy: saves-something, rule: prepare, why: No.}]\n", "R101", "no member 'rule'"),
        ("amend: {policies: {saves-something: {id: other}}}\n", "R142", "a name stays as it is"),
        (POLICY, "R141", "use 'amend: {policies: ...}'"),
        ("withdraw: [" + 2 * "{policy: saves-something, why: No.}," + "]\n", "R143", "a second time"),
    ],
)
def test_a_faulty_change_of_a_policy_is_refused(changes: str, code: str, says: str) -> None:
    _, above = overlay(changes=changes)
    findings = check_files([with_policies(POLICY), above]).findings
    assert [found.code for found in findings] == [code]
    assert says in findings[0].message


def test_policies_of_the_packs_of_the_service() -> None:
    base = load_folder(BASE_PACK).policies
    assert {name: policy.minimum_probability_pct for name, policy in base.items()} == {
        "repair-when-cheaper-more-often-than-not": 50
    }
    shop = load_folder(BASE_PACK.parent / "example-overlay").policies
    assert shop.keys() > base.keys()
    assert shop["repair-when-cheaper-more-often-than-not"].minimum_probability_pct == 70
