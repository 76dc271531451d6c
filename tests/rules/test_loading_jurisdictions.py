"""Jurisdictions as they are read, what is refused of them, and what an overlay changes."""

from __future__ import annotations

import pytest
from tiny_pack import SMALL, overlay

from rules.jurisdictions import CoatingRole, Convention
from rules.loading import check_files, load_files

HARBOUR = """\
jurisdictions:
  - id: harbour
    title: A harbour
    within: land
    edition: invented
    convention: less_water
    categories:
      - {id: primer, title: All, roles: [primer_surfacer, primer_sealer], limit_g_per_l: 540, evidence: none}
      - {id: wash, title: Cleaners, roles: [cleaner], limit_g_per_l: 25, convention: total, evidence: none}
    adds: {solvent-vapour: [radar-limits]}
    over_limit: [solvent-vapour]
    source: invented
  - id: land
    title: The land around it
    edition: invented
    convention: less_water_and_exempt
    exempt_compounds: [acetone]
    categories:
      - {id: primer, title: Primers, roles: [primer_surfacer], limit_g_per_l: 580, evidence: none}
    over_limit: [solvent-vapour]
    source: invented
"""


def pack_with(text=HARBOUR):
    return {**SMALL, "jurisdictions.yaml": text}


def codes_of(stack):
    return {found.code for found in check_files(stack).findings}


def test_a_jurisdiction_is_read_as_it_is_written():
    places = load_files([pack_with()]).jurisdictions
    assert list(places) == ["harbour", "land"]
    harbour = places["harbour"]
    assert (harbour.within, harbour.exempt_compounds, harbour.over_limit) == ("land", (), ("solvent-vapour",))
    assert harbour.adds == {"solvent-vapour": ("radar-limits",)}
    assert harbour.cautions == {"solvent-vapour", "radar-limits"}
    assert (harbour.place.file, harbour.place.line) == ("jurisdictions.yaml", 2)
    primer, wash = harbour.categories
    assert primer.roles == (CoatingRole.PRIMER_SURFACER, CoatingRole.PRIMER_SEALER)
    assert (primer.limit_g_per_l, primer.convention) == (540, Convention.LESS_WATER)
    assert wash.convention is Convention.TOTAL
    assert harbour.categories_of(CoatingRole.CLEANER) == (wash,)
    assert harbour.categories_of(CoatingRole.TEXTURE) == ()


def test_a_pack_may_have_none():
    assert load_files([SMALL]).jurisdictions == {}


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("R135", "within: land", "within: laand"),
        ("R135", "within: land", "within: harbour"),
        ("R118", "[radar-limits]", "[radar-limit]"),
        ("R118", "{solvent-vapour: [", "{solvent-vapor: ["),
        (
            "R118",
            "over_limit: [solvent-vapour]\n    source: invented\n  -",
            "over_limit: [smoke]\n    source: s\n  -",
        ),
        ("R102", "    exempt_compounds: [acetone]\n", ""),
        ("R105", "convention: less_water\n", "convention: less\n"),
        ("R105", "roles: [cleaner]", "roles: [cleaning]"),
        ("R107", "{id: wash,", "{id: primer,"),
        ("R106", "limit_g_per_l: 25", "limit_g_per_l: -25"),
        ("R109", "[primer_surfacer, primer_sealer]", "[primer_surfacer, primer_surfacer]"),
        ("R108", "roles: [cleaner]", "roles: []"),
        ("R108", "{solvent-vapour: [radar-limits]}", "{solvent-vapour: []}"),
    ],
)
def test_faults_are_told_by_their_code(code, old, new):
    assert HARBOUR.count(old) == 1
    assert codes_of([pack_with(HARBOUR.replace(old, new))]) == {code}


def test_one_that_lies_within_another_has_none_within_itself():
    deeper = HARBOUR.replace(
        "    title: The land around it\n", "    title: The land around it\n    within: harbour\n"
    )
    assert codes_of([pack_with(deeper)]) == {"R135"}


def test_the_cautions_of_a_jurisdiction_are_of_use():
    noise = (
        "  - {id: noise, title: Noise, signal: notice, hazard: It harms hearing, protect: Muffs,"
        " first_measure: Rest, defer: Local codes prevail, source: none}\n"
    )
    files = {**pack_with(), "cautions.yaml": SMALL["cautions.yaml"] + noise}
    assert codes_of([files]) == {"R207"}
    files["jurisdictions.yaml"] = HARBOUR.replace("[radar-limits]", "[radar-limits, noise]")
    assert codes_of([files]) == set()


AMENDED = """\
amend:
  jurisdictions:
    land: {over_limit: [radar-limits], adds: {radar-limits: [solvent-vapour]}}
"""


def test_an_overlay_adds_and_amends_jurisdictions():
    river = HARBOUR[: HARBOUR.index("  - id: land")].replace("harbour", "river")
    places = load_files([pack_with(), overlay(amend=AMENDED, more=river)[1]]).jurisdictions
    assert list(places) == ["harbour", "land", "river"]
    assert places["land"].over_limit == ("radar-limits",)
    assert places["land"].adds == {"radar-limits": ("solvent-vapour",)}
    assert places["land"].categories[0].limit_g_per_l == 580
    assert places["river"].within == "land"


def test_an_overlay_cannot_amend_what_is_not_there_or_declare_it_twice():
    files = {**SMALL, "jurisdictions.yaml": HARBOUR}
    unknown = overlay(amend="amend: {jurisdictions: {lagoon: {title: A lagoon}}}")[1]
    assert codes_of([files, unknown]) == {"R135"}
    assert codes_of([files, overlay(more=HARBOUR)[1]]) == {"R141"}
