"""What the shop charges, as a line item says it."""

from __future__ import annotations

from schemas.fields import (
    DecimalStr,
    Prices,
    Text,
    WholeNumber,
    about,
    between,
)
from schemas.refusing import Refusing


class RatesGiven(Refusing):
    currency = Text(
        required=True,
        pattern="[A-Z]{3}",
        form="three capital letters",
        metadata=about("An ISO 4217 currency code.", examples=["USD"]),
    )
    labour_per_hour = Prices(
        required=True, metadata=about("The price of an hour by labour category, as decimal strings.")
    )
    replacement_part = DecimalStr(allow_none=True, metadata=about("The price of a new part."))
    replacement_lead_days = WholeNumber(
        allow_none=True, validate=between(0, 3650), metadata=about("Days until a new part arrives.")
    )
