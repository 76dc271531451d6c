"""Rates of a line item: what is taken of them, and what is refused with its place."""

from __future__ import annotations

from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest
from marshmallow import ValidationError

from planning.costs.model import Charged, MaterialPrice, Per, Rates
from rules.intake import FactsRefused
from rules.loading import BASE_PACK, load_folder
from rules.materials.resolve import resolve
from rules.pack import Pack
from schemas.examples import MINIMAL
from schemas.faults import Fault, faults_of_body, faults_of_facts
from schemas.line_item.body import ProcedureRequest
from schemas.line_item.facts import complete_facts
from schemas.line_item.terms import terms_of

WHOLE: dict[str, Any] = {
    "currency": "USD",
    "labour_per_hour": {"body": "62.00", "refinish": "62.1234"},
    "materials": {
        "primer-surfacer": {"price": "38.50", "per": "litre"},
        "masking": {"price": "4", "per": "piece"},
        "solvent-cleaner": {"price": "9.999", "per": "package", "package_ml": 1000},
    },
    "materials_charged": "used",
    "replacement_part": "410.00",
    "replacement_lead_days": 3,
    "replacement_fit_hours": {"body": 1.25},
    "replacement_supplied_as": "primed",
    "replacement_disposal": "12.00",
    "repair_fit_hours": {"body": 0.5, "refinish": 0},
    "sensor_calibration": {"radar_zone": "180.00", "parking_sensor_zone": "45.5"},
}

LITRE = {"price": "1", "per": "litre"}


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


def body_with(**changes: Any) -> dict[str, Any]:
    return {**deepcopy(MINIMAL), "rates": deepcopy(WHOLE) | changes}


def refused(pack: Pack, **changes: Any) -> list[Fault]:
    loaded = ProcedureRequest().load(body_with(**changes))
    with pytest.raises(FactsRefused) as refusal:
        complete_facts(loaded, pack, resolve(pack, "TPO"))
    return list(faults_of_facts(refusal.value.faults))


def test_all_rates_are_taken_as_they_are_given(pack: Pack) -> None:
    loaded = ProcedureRequest().load(body_with())
    complete_facts(loaded, pack, resolve(pack, "TPO"))
    assert terms_of(loaded).rates == Rates(
        currency="USD",
        labour_per_hour={"body": Decimal("62.00"), "refinish": Decimal("62.1234")},
        replacement_part=Decimal("410.00"),
        replacement_lead_days=3,
        replacement_fit_hours={"body": 1.25},
        replacement_supplied_as="primed",
        replacement_disposal=Decimal("12.00"),
        repair_fit_hours={"body": 0.5, "refinish": 0.0},
        sensor_calibration={"radar_zone": Decimal("180.00"), "parking_sensor_zone": Decimal("45.5")},
        materials={
            "primer-surfacer": MaterialPrice(Decimal("38.50"), Per.LITRE),
            "masking": MaterialPrice(Decimal("4"), Per.PIECE),
            "solvent-cleaner": MaterialPrice(Decimal("9.999"), Per.PACKAGE, 1000),
        },
        materials_charged=Charged.USED,
    )


def test_null_is_the_same_as_left_out(pack: Pack) -> None:
    needed = {"currency", "labour_per_hour"}
    nulls = ProcedureRequest().load(body_with(**dict.fromkeys(WHOLE.keys() - needed)))
    complete_facts(nulls, pack, resolve(pack, "TPO"))
    only = {name: WHOLE[name] for name in needed}
    assert terms_of(nulls) == terms_of(ProcedureRequest().load({**MINIMAL, "rates": only}))


@pytest.mark.parametrize(
    ("changes", "place", "detail"),
    [
        (
            {"materials": {"primer-surfacer": {"price": 38, "per": "litre"}}},
            "primer-surfacer/price",
            "in quotes",
        ),
        ({"materials": {"masking": {"price": "4.00", "per": "roll"}}}, "masking/per", "must be one of litre"),
        ({"materials": {"masking": {"per": "piece"}}}, "masking/price", "is missing"),
        (
            {"materials": {"masking": {"price": "1", "per": "piece", "size": 1}}},
            "masking/size",
            "not a member",
        ),
        (
            {"materials": {"masking": {"price": "1", "per": "package", "package_ml": 0}}},
            "masking/package_ml",
            "1",
        ),
        ({"materials": {"masking": "4.00"}}, "masking", "must be an object"),
        ({"materials": []}, "", "must be an object"),
    ],
)
def test_a_bad_price_of_a_material_is_told_at_its_place(
    changes: dict[str, Any], place: str, detail: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        ProcedureRequest().load(body_with(**changes))
    (fault,) = faults_of_body(refusal.value, ProcedureRequest())
    assert fault.place == "/rates/materials" + (place and f"/{place}")
    assert detail in fault.detail


@pytest.mark.parametrize("hours", [{"body": "1.2"}, {"body": -0.1}, {"body": 201}, {"body": True}])
def test_bad_hours_are_told_at_their_place(hours: dict[str, Any]) -> None:
    for member in ("replacement_fit_hours", "repair_fit_hours"):
        with pytest.raises(ValidationError) as refusal:
            ProcedureRequest().load(body_with(**{member: hours}))
        assert [fault.place for fault in faults_of_body(refusal.value, ProcedureRequest())] == [
            f"/rates/{member}/body"
        ]


@pytest.mark.parametrize(
    ("changes", "place", "meant"),
    [
        ({"materials": {"primer-surfacr": LITRE}}, "materials/primer-surfacr", "primer-surfacer"),
        ({"replacement_fit_hours": {"boddy": 1}}, "replacement_fit_hours/boddy", "body"),
        ({"repair_fit_hours": {"boddy": 1}}, "repair_fit_hours/boddy", "body"),
        ({"labour_per_hour": {"refinsh": "1"}}, "labour_per_hour/refinsh", "refinish"),
        ({"sensor_calibration": {"radar": "1"}}, "sensor_calibration/radar", "radar_zone"),
        ({"replacement_supplied_as": "prime"}, "replacement_supplied_as", "primed"),
        ({"currency": "USX"}, "currency", "US"),
    ],
)  # fmt: skip
def test_a_word_that_means_nothing_is_refused_with_what_was_meant(
    pack: Pack, changes: dict[str, Any], place: str, meant: str
) -> None:
    (fault,) = refused(pack, **changes)
    assert fault.place == f"/rates/{place}"
    error = fault.as_error()
    assert any(str(word).startswith(meant) for word in error["accepted"])


def test_a_component_of_what_is_mixed_has_a_price_of_its_own(pack: Pack) -> None:
    component = next(part.id for material in pack.materials.values() for part in material.mix)
    loaded = ProcedureRequest().load(body_with(materials={component: {"price": "30", "per": "litre"}}))
    complete_facts(loaded, pack, resolve(pack, "TPO"))


def test_a_sum_that_the_currency_cannot_pay_is_refused(pack: Pack) -> None:
    faults = refused(
        pack, currency="JPY", replacement_part="410.50", sensor_calibration={"radar_zone": "1.1"}
    )
    assert {fault.place: fault.detail for fault in faults} == {
        "/rates/replacement_part": "has more decimals than JPY, which has 0; round it",
        "/rates/sensor_calibration/radar_zone": "has more decimals than JPY, which has 0; round it",
    }
    loaded = ProcedureRequest().load(
        body_with(currency="JPY", replacement_part="410.00", sensor_calibration=None)
    )
    complete_facts(loaded, pack, resolve(pack, "TPO"))


def test_gold_is_no_currency_of_prices(pack: Pack) -> None:
    (fault,) = refused(pack, currency="XAU")
    assert (fault.place, fault.value) == ("/rates/currency", "XAU")
    assert "ISO 4217" in fault.detail
