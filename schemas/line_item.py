"""The body of `POST /v1/procedures`: one line item, and what it says to the rules and to planning.

The envelope is fixed here. Which members the sections `part`, `damage`, `finish` and `place` may have
besides, and which values, the vocabulary of the rule pack says: each fact names its place in a line
item (`given_as`). Types are checked here, values by `rules.intake.complete`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import INCLUDE, Schema

from planning.model import Rates, Terms
from rules.intake import CompleteFacts, FactFault, FactsRefused, complete
from rules.pack import Pack, Substrate
from rules.vocabulary import Fact, Origin
from schemas.faults import pointer
from schemas.fields import (
    DecimalStr,
    Moment,
    Number,
    Prices,
    Section,
    Text,
    Texts,
    Truth,
    WholeNumber,
    about,
    between,
    length,
    line,
    size,
)

Body = Mapping[str, Any]
"""A line item as `ProcedureRequest().load` gives it."""

SECTIONS = ("part", "damage", "finish", "place")
"""The sections that state facts."""

ENVELOPE = {"part": ("name", "material", "features")}
"""Members of sections that are no facts themselves."""


class Refusing(Schema):
    """An object that refuses members which are not declared."""

    error_messages = {"unknown": "is not a member here", "type": "must be an object"}  # noqa: RUF012


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
    depth_mm = Number(allow_none=True, metadata=about("How deep the damage goes, in millimetres."))
    through = Truth(allow_none=True, metadata=about("The damage goes through the part."))
    backside_access = Truth(allow_none=True, metadata=about("The back of the damaged spot can be reached."))
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
        metadata=about("Where the shop is, for the limits on emissions.", examples=["us-federal"]),
    )
    start_at = Moment(
        allow_none=True, metadata=about("When the work begins, with its offset; timelines then carry dates.")
    )
    rates = Section(RatesGiven, allow_none=True)


def complete_facts(body: Body, pack: Pack, substrate: Substrate) -> CompleteFacts:
    """The typed facts of a line item. Raises FactsRefused with every fault of every section."""
    faults = tuple(_undeclared(body, pack))
    try:
        facts = complete(pack, substrate, facts_given(body, pack))
    except FactsRefused as refused:
        raise FactsRefused((*faults, *refused.faults)) from None
    if faults:
        raise FactsRefused(faults)
    return facts


def facts_given(body: Body, pack: Pack) -> dict[str, object]:
    """The facts that a line item states, by name, as stated.

    Where `/part/features` is given, every feature is stated true or false; otherwise none is.
    """
    stated = (
        (fact.name, _stated(body, fact.given_as))
        for fact in pack.vocabulary.from_origin(Origin.LINE_ITEM)
        if fact.given_as
    )
    return {name: value for name, value in stated if value is not None}


def terms_of(body: Body) -> Terms:
    """What a line item says beside its facts."""
    rates = body.get("rates")
    return Terms(
        start_at=body.get("start_at"),
        jurisdiction=body.get("jurisdiction"),
        rates=None if rates is None else Rates(**rates),
    )


def facts_under(pack: Pack, at: str) -> dict[str, Fact]:
    """The facts that are stated directly under the JSON pointer `at`, by the name of the member there."""
    split = ((fact, (fact.given_as or "").rpartition("/")) for fact in pack.vocabulary)
    return {name: fact for fact, (parent, _, name) in split if parent == at}


def _stated(body: Body, place: str) -> object:
    """What stands at a JSON pointer; None where it, or anything above it, is left out.

    In a list of words, a word is true when it is there and false when it is not.
    """
    found: Any = body
    for token in place.split("/")[1:]:
        if isinstance(found, list):
            found = token in found
        else:
            found = found.get(token) if isinstance(found, dict) else None
    return found


def _undeclared(body: Body, pack: Pack) -> Iterator[FactFault]:
    """What a line item states that the pack has no word for."""
    for section in SECTIONS:
        known = (*ENVELOPE.get(section, ()), *facts_under(pack, f"/{section}"))
        yield from _foreign(f"/{section}", body.get(section), known, "is not a member here")
    features = tuple(facts_under(pack, "/part/features"))
    for position, feature in enumerate(body["part"].get("features") or ()):
        if feature not in features:
            place = pointer("/part/features", position)
            yield FactFault(feature, place, feature, "is not a feature", features)
    prices = (body.get("rates") or {}).get("labour_per_hour")
    yield from _foreign("/rates/labour_per_hour", prices, pack.labour, "is not a labour category")


def _foreign(at: str, members: Body | None, known: tuple[str, ...], detail: str) -> Iterator[FactFault]:
    for name, value in (members or {}).items():
        if name not in known:
            yield FactFault(name, pointer(at, name), value, detail, known)
