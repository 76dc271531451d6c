from copy import deepcopy
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from marshmallow import ValidationError

from planning.costs.model import Rates
from planning.model import Terms
from rules.intake import FactsRefused
from rules.loading import BASE_PACK, check_files, load_folder, read_folder
from rules.materials.resolve import resolve
from rules.pack import Pack
from schemas.examples import FULL, MINIMAL
from schemas.faults import faults_of_body
from schemas.line_item.body import Body, ProcedureRequest
from schemas.line_item.facts import complete_facts, facts_given
from schemas.line_item.terms import terms_of


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


def loaded(body: dict[str, Any]) -> Body:
    result: Body = ProcedureRequest().load(body)
    return result


def with_member(section: str, name: str, value: object, body: dict[str, Any] = MINIMAL) -> dict[str, Any]:
    changed = deepcopy(body)
    changed.setdefault(section, {})[name] = value
    return changed


def test_the_smallest_line_item_states_only_what_it_gives(pack: Pack) -> None:
    assert facts_given(loaded(MINIMAL), pack) == {
        "condition": "factory_finish",
        "damage_type": "crack",
        "damage_length_mm": 80,
    }
    assert terms_of(loaded(MINIMAL)) == Terms()


def test_a_full_line_item_gives_its_facts_and_terms(pack: Pack) -> None:
    given = facts_given(loaded(FULL), pack)
    assert given["damage_depth_mm"] == 3.2
    assert given["through"] is True
    assert given["topcoat"] == "basecoat_clearcoat"
    assert given["forced_dry"] == "booth_bake"
    assert "supplied_as" not in given
    assert terms_of(loaded(FULL)) == Terms(
        start_at=datetime(2027, 3, 2, 8, 15, tzinfo=timezone(timedelta(hours=-6))),
        jurisdiction="us-federal",
        rates=Rates("USD", {"body": Decimal("62.00"), "refinish": Decimal("62.00")}, Decimal("410.00"), 3),
    )


def features_of(pack: Pack) -> set[str]:
    return {fact.name for fact in pack.vocabulary if (fact.given_as or "").startswith("/part/features/")}


def test_a_list_of_features_states_all_of_them_and_no_list_states_none(pack: Pack) -> None:
    features = features_of(pack)
    listed = facts_given(loaded(FULL), pack)
    assert {name for name in features if listed[name] is True} == {"radar_zone"}
    assert {name for name in features if listed[name] is False} == features - {"radar_zone"}
    none = facts_given(loaded(with_member("part", "features", [])), pack)
    assert all(none[name] is False for name in features)
    for absent in (MINIMAL, with_member("part", "features", None)):
        assert not features & facts_given(loaded(absent), pack).keys()


def test_null_is_the_same_as_left_out_wherever_a_value_may_be_left_out(pack: Pack) -> None:
    nulls = deepcopy(MINIMAL) | dict.fromkeys(("finish", "place", "jurisdiction", "start_at", "rates"))
    nulls["line_item"]["description"] = None
    nulls["part"] |= dict.fromkeys(("supplied_as", "texture", "area_m2", "features"))
    nulls["damage"] |= dict.fromkeys(("depth_mm", "through", "backside_access", "count"))
    assert facts_given(loaded(nulls), pack) == facts_given(loaded(MINIMAL), pack)
    assert terms_of(loaded(nulls)) == Terms()


@pytest.mark.parametrize(
    ("section", "name", "value", "detail"),
    [
        ("line_item", "reference", "", "one line of text"),
        ("line_item", "reference", " ", "not blank"),
        ("line_item", "reference", "a\nb", "one line of text"),
        ("line_item", "reference", 7, "text"),
        ("line_item", "reference", "x" * 101, "1 to 100 characters"),
        ("line_item", "reference", None, "null"),
        ("line_item", "description", "x" * 2001, "0 to 2000 characters"),
        ("part", "material", None, "null"),
        ("part", "material", "x" * 101, "1 to 100 characters"),
        ("part", "condition", True, "text"),
        ("part", "condition", "x" * 61, "1 to 60 characters"),
        ("part", "area_m2", "1.1", "number"),
        ("part", "area_m2", True, "number"),
        ("part", "features", "radar_zone", "list of texts"),
        ("part", "features", {"radar_zone": True}, "list of texts"),
        ("part", "features", ["x"] * 51, "at most 50"),
        ("damage", "length_mm", "80", "number"),
        ("damage", "length_mm", [80], "number"),
        ("damage", "through", 1, "true or false"),
        ("damage", "through", "true", "true or false"),
        ("damage", "count", 1.5, "whole number"),
        ("damage", "count", True, "whole number"),
        ("damage", "count", "1", "whole number"),
        ("rates", "currency", "usd", "three capital letters"),
        ("rates", "currency", "USD\n", "three capital letters"),
        ("rates", "replacement_part", 410, "decimal number in quotes"),
        ("rates", "replacement_part", "4.1e2", "decimal number in quotes"),
        ("rates", "replacement_part", "-1.00", "decimal number in quotes"),
        ("rates", "replacement_part", "1.00\n", "decimal number in quotes"),
        ("rates", "replacement_part", "\u0661", "decimal number in quotes"),
        ("rates", "replacement_part", "1" * 10, "decimal number in quotes"),
        ("rates", "replacement_lead_days", "3", "whole number"),
        ("rates", "replacement_lead_days", -1, "between 0 and 3650"),
        ("rates", "labour_per_hour", [], "object"),
    ],
)
def test_no_value_is_converted_and_every_bound_holds(
    section: str, name: str, value: object, detail: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        loaded(with_member(section, name, value, FULL))
    (fault,) = faults_of_body(refused.value, ProcedureRequest())
    assert fault.place == f"/{section}/{name}"
    assert detail in fault.detail
    assert fault.value == value


@pytest.mark.parametrize(
    "start_at",
    [
        "2027-03-02T08:15:00",
        "2027-03-02 08:15:00-06:00",
        "2027-03-02",
        "2027-02-30T08:15:00Z",
        "2027-03-02T24:15:00Z",
        "2027-03-02T08:15:00-0600",
        "2027-03-02T08:15:00-06:00\n",
        "1999-12-31T23:59:59Z",
        "9999-12-31T23:59:59Z",
        1_772_000_000,
    ],
)
def test_a_start_without_offset_or_outside_the_calendar_is_refused(start_at: object) -> None:
    with pytest.raises(ValidationError) as refused:
        loaded({**MINIMAL, "start_at": start_at})
    assert [fault.place for fault in faults_of_body(refused.value, ProcedureRequest())] == ["/start_at"]


def test_a_whole_number_may_be_written_with_a_zero_fraction() -> None:
    assert loaded(with_member("damage", "count", 2.0))["damage"]["count"] == 2


def test_all_that_the_pack_has_no_word_for_is_told_at_once(pack: Pack) -> None:
    body = deepcopy(FULL)
    body["part"]["colour"] = None
    body["part"]["features"] = ["radar_zone", "radar_zon"]
    body["damage"]["lenght_mm"] = 80
    body["damage"]["type"] = "crak"
    body["place"] = {"wind": 3}
    body["rates"]["labour_per_hour"]["boddy"] = "1.00"
    with pytest.raises(FactsRefused) as refused:
        complete_facts(loaded(body), pack, resolve(pack, "TPO"))
    places = {fault.given_as: fault.accepted for fault in refused.value.faults}
    assert set(places) == {
        "/part/colour",
        "/part/features/1",
        "/damage/lenght_mm",
        "/damage/type",
        "/place/wind",
        "/rates/labour_per_hour/boddy",
    }
    assert places["/rates/labour_per_hour/boddy"] == pack.labour
    assert {"name", "material", "features", "texture"} <= set(places["/part/colour"])


OVERLAY = {
    "pack.yaml": """
pack:
  name: shop
  version: 1.0.0
  title: An invented shop
  extends: base
  effective_from: 2026-01-01
  effective_until: null
""",
    "facts.yaml": """
facts:
  colour_family:
    about: What kind of colour the part has.
    kind: enumeration
    values: {solid: No effect., metallic: With metal flakes.}
    given_as: /finish/colour_family
    default: metallic
""",
}


def test_a_fact_that_an_overlay_adds_can_be_stated_where_it_says(pack: Pack) -> None:
    shop = check_files([read_folder(BASE_PACK), OVERLAY]).pack
    assert shop is not None
    body = loaded(with_member("finish", "colour_family", "solid"))
    assert facts_given(body, shop)["colour_family"] == "solid"
    assert complete_facts(body, shop, resolve(shop, "TPO")).values["colour_family"] == "solid"
    with pytest.raises(FactsRefused, match="not a member here"):
        complete_facts(body, pack, resolve(pack, "TPO"))
    wrong = loaded(with_member("finish", "colour_family", 3))
    with pytest.raises(FactsRefused, match="must be one of"):
        complete_facts(wrong, shop, resolve(shop, "TPO"))
