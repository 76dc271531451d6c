"""The jurisdictions of the base pack: that they reach all that is sprayed, and every coating there is."""

from __future__ import annotations

import pytest
from base_pack_line_items import base_pack

from rules.jurisdictions import TOPCOATS, Convention

PLACES = sorted(base_pack().jurisdictions)


def test_every_stage_that_uses_a_coating_carries_the_mist_that_duties_hang_on():
    pack = base_pack()
    for stage in pack.stages.values():
        if any(pack.materials[material].kind == "coating" for material in stage.materials):
            assert {"spray-mist", "gun-cleaning"} <= set(stage.cautions), stage.id


def test_every_coating_and_cleaner_says_what_it_is_for():
    for material in base_pack().materials.values():
        if material.kind in ("coating", "cleaner"):
            assert material.coating_role is not None, material.id


def test_what_bonds_is_held_to_what_fills_and_promotes():
    """An own, cautious reading: the texts name neither repair adhesives nor the promoters under them."""
    roles = {name: base_pack().materials[name].coating_role for name in ("repair-adhesive", "bond-promoter")}
    assert {name: role and role.value for name, role in roles.items()} == {
        "repair-adhesive": "filler",
        "bond-promoter": "adhesion_promoter",
    }
    for jurisdiction in base_pack().jurisdictions.values():
        for category in jurisdiction.categories_of(roles["bond-promoter"]):
            assert "own, cautious reading" in category.evidence


@pytest.mark.parametrize("place", ["eu", "us-california-scaqmd"])
def test_every_coating_of_the_pack_is_limited(place):
    pack = base_pack()
    chain = [pack.jurisdictions[place]]
    chain += [pack.jurisdictions[chain[0].within]] if chain[0].within else []
    for material in pack.materials.values():
        if material.kind == "coating":
            assert any(each.categories_of(material.coating_role) for each in chain), material.id


@pytest.mark.parametrize("place", PLACES)
def test_what_a_jurisdiction_adds_defers_and_stands_beside_something_that_is_carried(place):
    pack = base_pack()
    jurisdiction = pack.jurisdictions[place]
    carried = {caution for stage in pack.stages.values() for caution in stage.cautions}
    carried |= {caution for rule in pack.rules.values() for caution in rule.cautions}
    assert jurisdiction.adds.keys() <= carried
    for name in jurisdiction.cautions:
        assert "prevail" in pack.cautions[name].defer


def test_only_the_european_union_counts_every_solvent():
    exempting = {place.id for place in base_pack().jurisdictions.values() if place.exempt_compounds}
    assert exempting == {"us-federal", "us-california-scaqmd"}


def test_topcoats_are_weighed_together_in_the_federal_rule_alone():
    together = {
        place.id
        for place in base_pack().jurisdictions.values()
        if any(place.categories_of(role) for role in TOPCOATS)
    }
    assert together == {"us-federal"}


def test_cleaning_alone_counts_water_in():
    for place in base_pack().jurisdictions.values():
        for category in place.categories:
            cleaning = {"cleaner", "pre_cleaner"} >= {role.value for role in category.roles}
            assert (category.convention is Convention.TOTAL) is cleaning, category.id
