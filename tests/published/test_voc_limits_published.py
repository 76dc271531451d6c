"""The limits of the base pack against the tables of the authorities. Sources in `data/voc_limits.yaml`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from plastics_data import data_file

from planning.emissions.content import Content
from planning.emissions.limits import Mix, held
from planning.emissions.model import Held
from rules.jurisdictions import TOPCOATS, CoatingRole, Jurisdiction
from rules.loading import BASE_PACK, load_folder
from rules.pack import Material

JURISDICTIONS = load_folder(BASE_PACK).jurisdictions
TABLES = data_file("voc_limits.yaml")["tables"]


def rows() -> Iterator[tuple[str, str, int]]:
    for table in TABLES:
        yield from ((table["jurisdiction"], role, limit) for role, limit in table["rows"].items())


def coats_of(role: CoatingRole, content: Content) -> list[Mix]:
    """One coating, or all of a topcoat, each with the same content."""
    layers = [CoatingRole.COLOR_COAT, CoatingRole.CLEAR_COAT]
    if role is CoatingRole.MULTI_STAGE_TOPCOAT:
        layers.append(CoatingRole.MIDCOAT)
    roles = layers if role in TOPCOATS else [role]
    return [Mix(Material(each.value, "", "coating", "", coating_role=each), content) for each in roles]


def verdict(role: str, place: Jurisdiction, **content: float) -> Held:
    coats = coats_of(CoatingRole(role), Content(**content))
    found = held(coats[0], coats, [place])
    assert found is not None
    return found


@pytest.mark.parametrize(("place", "role", "limit"), [*rows()])
def test_a_coating_at_the_limit_is_within_and_one_above_it_is_over(place: str, role: str, limit: int) -> None:
    assert verdict(role, JURISDICTIONS[place], voc_g=limit).over is False
    assert verdict(role, JURISDICTIONS[place], voc_g=limit + 0.1).over is True


def test_every_category_of_the_pack_is_in_a_table() -> None:
    for table in TABLES:
        for category in JURISDICTIONS[table["jurisdiction"]].categories:
            limits = {table["rows"].get(role.value) for role in category.roles}
            assert category.limit_g_per_l in limits, category.id


@pytest.mark.parametrize("role", ["single_stage", "primer_surfacer"])
def test_acetone_counts_in_the_european_union_and_not_in_the_united_states(role: str) -> None:
    """EU: every organic compound that boils at 250 °C or below (SI 2005/2773).

    US: acetone is exempt, 40 CFR 51.100(s), from memory. Acetone weighs 0.79 g/ml.
    """
    content = {"voc_g": 300.0, "exempt_g": 237.0, "exempt_ml": 300.0}
    assert verdict(role, JURISDICTIONS["eu"], **content).value_g_per_l == 537
    for place in ("us-federal", "us-california-scaqmd"):
        found = verdict(role, JURISDICTIONS[place], **content).value_g_per_l
        assert float(found or 0) == pytest.approx(300 / 0.7, abs=0.05)


@pytest.mark.parametrize(
    ("role", "discounted"),
    [
        ("cleaner", False),
        ("pre_cleaner", False),
        ("filler", True),
        ("primer_surfacer", True),
        ("wash_primer", True),
        ("single_stage", True),
        ("texture", True),
    ],
)
def test_water_is_discounted_in_all_of_annex_ii_b_but_preparatory_and_cleaning(
    role: str, discounted: bool
) -> None:
    """The same government page as for the limits."""
    value = verdict(role, JURISDICTIONS["eu"], voc_g=100.0, water_ml=500.0).value_g_per_l
    assert value == (200 if discounted else 100)


def test_the_most_restrictive_of_two_categories_counts() -> None:
    """40 CFR 59.102(b): a mix used in more than one category meets the most restrictive of their limits.

    Primers have 580 g/L there, primer sealers 550.
    """
    place = JURISDICTIONS["us-federal"]
    both = tuple(
        replace(each, roles=(*each.roles, CoatingRole.PRIMER_SURFACER))
        if each.id == "primer-sealer"
        else each
        for each in place.categories
    )
    place = replace(place, categories=both)
    assert verdict("primer_surfacer", place, voc_g=550.0).over is False
    assert verdict("primer_surfacer", place, voc_g=560.0).over is True
    assert verdict("primer_surfacer", place, voc_g=560.0).category == "primer-sealer"


def test_limits_from_memory_say_so() -> None:
    for table in TABLES:
        if "memory" in table["evidence"]:
            for category in JURISDICTIONS[table["jurisdiction"]].categories:
                assert "from memory" in category.evidence


def test_every_edition_tells_to_check_what_is_in_force() -> None:
    """The published tables may have changed; no figure here proves that it is in force."""
    for place in JURISDICTIONS.values():
        assert "check what is in force" in place.edition
