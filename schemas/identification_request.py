"""The body of `POST /v1/identifications`: what is known of a part, and what is to be done with it.

Which tests there are and what each may show, the rule pack says; `rules.materials.identification`
refuses the others. Facts are stated as in a line item.
"""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError, fields, validates_schema

from rules.intake import CompleteFacts
from rules.materials.identification.model import Evidence
from rules.pack import Pack, Substrate
from schemas.fields import Section, Text, about, by_member, length, line
from schemas.line_item.body import Body, Damage, Finish, Part, Place
from schemas.line_item.facts import complete_facts
from schemas.refusing import Refusing

FACT_SECTIONS = ("damage", "finish", "place")
LONGEST_MARKING = 100


class Results(fields.Dict):
    """An object of results whose member names are tests."""

    default_error_messages = {  # noqa: RUF012
        "required": "is missing",
        "null": "must not be null",
        "invalid": "must be an object that gives the result of each test done",
    }

    def __init__(self, **options: Any) -> None:
        word = length(1, 60)
        super().__init__(keys=Text(validate=word), values=Text(validate=word, allow_none=True), **options)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **options)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            raise by_member(error) from error


class PartSeen(Part):
    """A part as in a line item, of a material that is to be found out."""

    class Meta(Part.Meta):
        exclude = ("material",)

    name = line(
        100,
        allow_none=True,
        metadata=about(
            "What people call the part. It says what the part is probably made of, before any test.",
            examples=["front bumper cover"],
        ),
    )

    @validates_schema(skip_on_field_errors=False)
    def _no_material(self, data: Body, **options: Any) -> None:
        if "material" in data:
            raise ValidationError("is what is to be found out; give a marking as /marking", "material")


class IdentificationRequest(Refusing):
    marking = Text(
        allow_none=True,
        validate=length(1, LONGEST_MARKING),
        metadata=about(
            "What is moulded into the part: an ISO 11469 marking; an ISO 1043-1 symbol or a word of the"
            " trade does as well.",
            examples=[">PP+EPDM-T20<"],
        ),
    )
    tests = Results(allow_none=True, metadata=about("The result of each bench test that was done."))
    part = Section(PartSeen, allow_none=True)
    damage = Section(Damage, allow_none=True)
    finish = Section(Finish, allow_none=True)
    place = Section(Place, allow_none=True)


def evidence_of(body: Body) -> Evidence:
    """What a loaded body says of the material."""
    results = {test: result for test, result in (body.get("tests") or {}).items() if result is not None}
    return Evidence(body.get("marking"), results, (body.get("part") or {}).get("name"))


def states_line_item(body: Body) -> bool:
    """Whether a loaded body says what is to be done: anything of the part beside its name, or the rest."""
    part = {name for name, value in (body.get("part") or {}).items() if value is not None}
    return bool(part - {"name"}) or any(body.get(section) is not None for section in FACT_SECTIONS)


def facts_with(body: Body, pack: Pack, substrate: Substrate) -> CompleteFacts:
    """The facts of the line item if the part is made of `substrate`. Raises FactsRefused."""
    return complete_facts({**body, "part": body.get("part") or {}}, pack, substrate)
