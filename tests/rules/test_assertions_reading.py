"""Assertions as they are written: what is read, and what is refused with place and fix."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL

from rules.assertions.model import Bounds, Carry, NothingBetween, Pattern
from rules.conditions import OneOf
from rules.loading import BASE_PACK, Checked, check_files
from rules.loading.assertions import _ANSWER, _OF_STAGES
from rules.pack import Disposition

HEAD = "assertions:\n  - id: claimed\n    why: A test.\n    source: invented\n    "


def checked(claim: str) -> Checked:
    return check_files([{**SMALL, "assertions.yaml": f"{HEAD}{claim}\n"}])


def test_every_member_is_read() -> None:
    (read,) = checked("""\
when: {radar_zone: false}
    where: {disposition: [repair, replace], reasons: [prepare], present: [prime], absent: [adhesion-promoter]}
    always:
      any_of: [solvent-clean, prime]
      cautions: [solvent-vapour]
      parameters: {prime.coats: 2, prime.limit_c: {at_least: 60, at_most: 90}, prime.abrasive: null}
      order: [solvent-clean, prime]
      nothing_between: {after: [solvent-clean], before: [prime], stages: [adhesion-promoter]}
      carry: {stages: [prime], users_of: [primer], cautions: [solvent-vapour]}
    never: {no_stages: true}
    overlays_may_differ: true""").assertions
    assert read.when.parts == (OneOf("radar_zone", (False,)),)  # type: ignore[union-attr]
    assert read.where == Pattern(
        (Disposition.REPAIR, Disposition.REPLACE),
        reasons=("prepare",),
        present=("prime",),
        absent=("adhesion-promoter",),
    )
    assert read.always == Pattern(
        any_of=("solvent-clean", "prime"),
        cautions=("solvent-vapour",),
        parameters={
            ("prime", "coats"): 2.0,
            ("prime", "limit_c"): Bounds(60.0, 90.0),
            ("prime", "abrasive"): None,
        },
        order=("solvent-clean", "prime"),
        nothing_between=NothingBetween(("solvent-clean",), ("prime",), ("adhesion-promoter",)),
        carry=Carry(("prime",), ("primer",), ("solvent-vapour",)),
    )
    assert read.never == Pattern(no_stages=True)
    assert not read.stands_under_overlays
    assert (read.id, read.why, read.source) == ("claimed", "A test.", "invented")
    assert (str(read.place), read.place.pack) == ("assertions.yaml:2:5", "small")


@pytest.mark.parametrize(
    ("claim", "code", "says"),
    [
        ("when: {radar_zone: true}", "R131", "add 'always' or 'never'"),
        ("always: {}", "R131", "add one of disposition, reasons"),
        ("always: {no_stages: false}", "R131", "take it out"),
        ("always: {present: []}", "R108", "name at least 1"),
        ("always: {disposition: []}", "R108", "name at least 1"),
        ("always: {order: [prime]}", "R108", "name at least 2"),
        ("always: {nothing_between: {after: [prime], before: [prime], stages: []}}", "R108", "at least 1"),
        ("always: {nothing_between: {after: [prime], before: [prime]}}", "R102", "lacks 'stages'"),
        ("never: {parameters: {prime.coats: 2}}", "R101", "'never' has no member 'parameters'"),
        ("always: {carry: {cautions: [solvent-vapour]}}", "R131", "add 'stages', 'users_of' or both"),
        ("always: {carry: {users_of: [paint], cautions: [solvent-vapour]}}", "R119", "paint"),
        ("always: {carry: {stages: [prime], cautions: [fumes]}}", "R118", "solvent-vapour"),
        ("always: {no_stages: true}\n    overlays_may_differ: 1", "R103", "true or false"),
        ("never: {order: [solvent-clean, prime]}", "R101", "'never' has no member 'order'"),
        ("where: {order: [solvent-clean, prime]}\n    never: {no_stages: true}", "R101", "'where' has no"),
        ("always: {presnt: [prime]}", "R101", "did you mean 'present'?"),
        ("always: {present: [primer]}", "R116", "did you mean 'prime'?"),
        ("always: {cautions: [vapour]}", "R118", "solvent-vapour"),
        ("always: {reasons: [prepar]}", "R121", "did you mean 'prepare'?"),
        ("always: {disposition: mend}", "R105", "refer"),
        ("always: {disposition: [refer, refer]}", "R109", "take one away"),
        ("always: {parameters: {prime.coat: 2}}", "R117", "did you mean 'coats'?"),
        ("always: {parameters: {prime.coats: {}}}", "R108", "write at_least, at_most or both"),
        ("always: {parameters: {prime.coats: {at_least: 3, at_most: 2}}}", "R127", "exchange them"),
        ("always: {parameters: {prime.abrasive: {at_least: 3}}}", "R114", "write a value"),
        ("when: {radar: true}\n    always: {no_stages: true}", "R012", "radar_zone"),
    ],
)
def test_an_assertion_at_fault_is_refused_with_its_fix(claim: str, code: str, says: str) -> None:
    (found,) = checked(claim).findings
    assert (found.code, found.place.file) == (code, "assertions.yaml")
    assert found.place.line >= 2
    assert says in found.message


@pytest.mark.parametrize(
    "member", [*_ANSWER, *_OF_STAGES, "overlays_may_differ", "at_least", "at_most", "users_of"]
)
def test_the_readme_tells_every_member(member: str) -> None:
    readme = (BASE_PACK.parents[1] / "README.md").read_text(encoding="utf-8")
    told = readme.partition("\n## assertions.yaml\n")[2].partition("\n## ")[0]
    assert f"{member}: " in told


def test_an_assertion_needs_a_reason_and_a_source() -> None:
    files = {**SMALL, "assertions.yaml": "assertions:\n  - {id: bare, always: {no_stages: true}}\n"}
    assert [found.code for found in check_files([files]).findings] == ["R102", "R102"]
