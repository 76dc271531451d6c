"""The body of `POST /v1/procedures`: what one line item may say.

The envelope is fixed here. Which members the sections `part`, `damage`, `finish` and `place` may have
besides, and which values, the vocabulary of the rule pack says: each fact names its place in a line
item (`given_as`). Types are checked here, values by `rules.intake.complete`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import INCLUDE, ValidationError, validates_schema

from schemas.fields import (
    Moment,
    Number,
    Section,
    Text,
    Texts,
    Truth,
    WholeNumber,
    about,
    length,
    line,
    size,
)
from schemas.line_item.calendar import CalendarGiven
from schemas.line_item.rates import RatesGiven
from schemas.refusing import Refusing

Body = Mapping[str, Any]
"""A line item as `ProcedureRequest().load` gives it."""

SECTIONS = ("part", "damage", "finish", "place")
"""The sections that state facts."""

ENVELOPE = {"part": ("name", "material", "features")}
"""Members of sections that are no facts themselves."""


class FactSection(Refusing):
    """An object whose members state facts; `complete_facts` refuses those the pack does not declare."""

    class Meta:
        unknown = INCLUDE


def _word(text: str) -> Text:
    return Text(validate=length(1, 60), allow_none=True, metadata=about(text))


class LineItem(Refusing):
    reference = line(
        100,
        required=True,
        metadata=about(
            "What shop software calls the line item; answers are found by it.", examples=["RO-20417-3"]
        ),
    )
    description = Text(
        allow_none=True, validate=length(0, 2000), metadata=about("A remark for people; no rule reads it.")
    )


class Part(FactSection):
    name = line(
        100,
        required=True,
        metadata=about("What people call the part.", examples=["front bumper cover"]),
    )
    material = Text(
        required=True,
        validate=length(1, 100),
        metadata=about(
            "An ISO 1043-1 symbol, the ISO 11469 marking as moulded, a word of the trade, or `unknown`.",
            examples=[">PP+EPDM-T20<"],
        ),
    )
    condition = _word("The state of the part's surface.")
    supplied_as = _word("How a new part was supplied.")
    texture = _word("Whether the visible surface is smooth or grained.")
    area_m2 = Number(allow_none=True, metadata=about("The area to be painted, in square metres."))
    features = Texts(
        of=Text(validate=length(1, 60)),
        allow_none=True,
        validate=size(50),
        metadata=about(
            "What is special about the part. A list states every feature, so `[]` says that there is none;"
            " left out, each feature takes its default and is listed under `assumptions`."
        ),
    )


class Damage(FactSection):
    type = _word("What is wrong with the part.")
    length_mm = Number(allow_none=True, metadata=about("The longest extent of the damage, in millimetres."))
    width_mm = Number(
        allow_none=True,
        metadata=about("How wide a gouge, dent or puncture is across its length, in millimetres."),
    )
    depth_mm = Number(allow_none=True, metadata=about("How deep the damage goes, in millimetres."))
    through = Truth(allow_none=True, metadata=about("The damage goes through the part."))
    backside_access = Truth(allow_none=True, metadata=about("The back of the damaged spot can be reached."))
    contour = _word("How far the surface at the damage is curved; it says how hard the work is.")
    at_edge = Truth(
        allow_none=True, metadata=about("The damage reaches an edge, a flange or an opening; likewise.")
    )
    count = WholeNumber(allow_none=True, metadata=about("How many such damages the line item covers."))


class Finish(FactSection):
    topcoat = _word("What coating the visible surface has to carry.")


class Place(FactSection):
    air_temperature_c = Number(allow_none=True, metadata=about("Air temperature, in degrees Celsius."))
    surface_temperature_c = Number(
        allow_none=True, metadata=about("Temperature of the part's surface, in degrees Celsius.")
    )
    relative_humidity_pct = Number(
        allow_none=True, metadata=about("Relative humidity of the air, in per cent.")
    )
    forced_dry = _word("How the shop dries coatings faster than the air does.")


class ProcedureRequest(Refusing):
    line_item = Section(LineItem, required=True)
    part = Section(Part, required=True)
    damage = Section(Damage, allow_none=True)
    finish = Section(Finish, allow_none=True)
    place = Section(Place, allow_none=True)
    jurisdiction = Text(
        allow_none=True,
        pattern="[a-z0-9]+(-[a-z0-9]+)*",
        form="small letters and digits, joined by hyphens",
        validate=length(1, 60),
        metadata=about(
            "Where the shop is, by name in `/v1/jurisdictions`, for limits on emissions and duties.",
            examples=["us-federal"],
        ),
    )
    start_at = Moment(
        allow_none=True, metadata=about("When the work begins, with its offset; timelines then carry dates.")
    )
    calendar = Section(
        CalendarGiven,
        allow_none=True,
        metadata=about("When the shop is open, so that times are such as it can keep; needs `start_at`."),
    )
    rates = Section(RatesGiven, allow_none=True)

    @validates_schema
    def _calendar_has_a_start(self, data: Mapping[str, Any], **options: Any) -> None:
        if data.get("calendar") and not data.get("start_at"):
            raise ValidationError("is missing: where a calendar is given, so must be the start", "start_at")
