"""What the shop charges, as a line item says it."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load, validate

from planning.costs.model import Charged, MaterialPrice, Per
from schemas.fields import (
    ByName,
    DecimalStr,
    Number,
    Prices,
    Section,
    Text,
    WholeNumber,
    about,
    between,
    length,
)
from schemas.refusing import Refusing

PER = tuple(each.value for each in Per)
CHARGED = tuple(each.value for each in Charged)


class PriceOfMaterial(Refusing):
    price = DecimalStr(required=True, metadata=about("Money, as a decimal string.", examples=["38.50"]))
    per = Text(
        required=True,
        validate=validate.OneOf(PER, error="must be one of {choices}"),
        metadata=about("What the price buys one of."),
    )

    package_ml = WholeNumber(
        allow_none=True,
        validate=between(1, 1_000_000),
        metadata=about(
            "What a package holds, in millilitres, for a price by the package; left out, the package is the"
            " one that the pack knows, and there is no price where several sizes are bought together."
        ),
    )

    @post_load
    def _made(self, given: dict[str, Any], **_options: Any) -> MaterialPrice:
        return MaterialPrice(given["price"], Per(given["per"]), given.get("package_ml"))


def _hours(text: str) -> ByName:
    hours = Number(validate=between(0, 200))
    return ByName(hours, allow_none=True, metadata=about(f"{text}, in hours by labour category."))


class RatesGiven(Refusing):
    currency = Text(
        required=True,
        pattern="[A-Z]{3}",
        form="three capital letters",
        metadata=about(
            "An ISO 4217 currency code. Amounts are rounded half up to its smallest unit.", examples=["USD"]
        ),
    )
    labour_per_hour = Prices(
        required=True, metadata=about("The price of an hour by labour category, as decimal strings.")
    )
    materials = ByName(
        Section(PriceOfMaterial),
        allow_none=True,
        metadata=about(
            "The price of a litre, a metre, a piece or a package by material, as `/v1/stages` names them, or"
            " by component of what is mixed. What has no price here is named under `not_included`."
        ),
    )
    materials_charged = Text(
        allow_none=True,
        validate=validate.OneOf(CHARGED, error="must be one of {choices}"),
        metadata=about(
            "Whether prices by the litre are paid for whole packages (`bought`, where nothing is said) or for"
            " what is taken from them (`used`)."
        ),
    )
    replacement_part = DecimalStr(
        allow_none=True,
        metadata=about("The price of a new part. With it, a repair is weighed against the new part."),
    )
    replacement_lead_days = WholeNumber(
        allow_none=True, validate=between(0, 3650), metadata=about("Days until a new part arrives.")
    )
    replacement_fit_hours = _hours("Taking the old part off and fitting the new one")
    replacement_supplied_as = Text(
        allow_none=True,
        validate=length(1, 60),
        metadata=about("How the new part is supplied, as in `/part/supplied_as`.", examples=["primed"]),
    )
    replacement_disposal = DecimalStr(
        allow_none=True, metadata=about("What it costs to get rid of the old part.")
    )
    repair_fit_hours = _hours("Taking the part off for a repair and fitting it again")
    sensor_calibration = Prices(
        allow_none=True,
        metadata=about(
            "What calibrating a sensor costs after a new part was fitted, by the feature of the part."
        ),
    )
