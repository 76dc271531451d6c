"""What the members of a procedure mean, with their units."""

from __future__ import annotations

from marshmallow import fields

from schemas.answers import (
    Answer,
    PackNamed,
    many,
    one,
    scalar,
    table,
    text,
    texts,
)
from schemas.fields import about
from schemas.procedure.cautions import CautionAsked
from schemas.procedure.costs import CostGiven
from schemas.procedure.emissions import EmissionsGiven
from schemas.procedure.materials import MaterialNeeded, PickLineGiven
from schemas.procedure.place import PlaceGiven
from schemas.procedure.stages import StageGiven
from schemas.procedure.timing import TimelineGiven, TotalsGiven

DISPOSITIONS = ("repair", "replace", "refer")


class LineItemNamed(Answer):
    reference = text("The reference that was given.")
    description = text("The remark that was given.", null=True)


class PartNamed(Answer):
    name = text("The part, as it was given.")
    material = text("The material, as it was given.")


class MaterialFound(Answer):
    symbol = text("The symbol of the row of the substrate table that was used.")
    name = text("What the material is called.")
    notes = texts("How the row was chosen, and what to know of the material.")


class ReasonGiven(Answer):
    rule = text("The rule that decided.")
    text = text("The reason, for people.")


class AssumptionMade(Answer):
    fact = text("A fact that was not given.")
    value = scalar("The cautious value it was taken to have.", null=False)
    pointer = text("Where in a line item it can be given, as a JSON pointer.", null=True)


class Links(Answer):
    self = text("The procedure.", format="uri-reference")
    timeline = text("Its timeline, as JSON or as a drawing.", format="uri-reference")
    explanation = text("Why it is as it is.", format="uri-reference")


class ProcedureAnswer(Answer):
    id = text(
        "`pr-` and the first 32 hexadecimal digits of the SHA-256 of the content: equal content, equal id.",
        pattern="^pr-[0-9a-f]{32}$",
    )
    line_item = one(LineItemNamed, "The line item.")
    part = one(PartNamed, "The part.")
    material = one(MaterialFound, "What the part is made of.")
    pack = one(PackNamed, "The rule pack that decided.")
    facts = table(scalar("A value.", null=False), "Every fact the decision was taken on, by name.")
    disposition = text("What is to be done with the part.", enum=[*DISPOSITIONS])
    reasons = many(ReasonGiven, "Why.")
    assumptions = many(AssumptionMade, "Facts that were not given, with the cautious values taken.")
    cautions = many(CautionAsked, "What can hurt the person who does the work.")
    stages = many(StageGiven, "The stages in the order of work; none when the part is referred.")
    timeline = one(TimelineGiven, "The earliest schedule.")
    totals = one(TotalsGiven, "Sums over the stages.")
    materials = many(MaterialNeeded, "What the stages use.")
    pick_list = many(PickLineGiven, "What to take from the store, each thing once.")
    emissions = one(EmissionsGiven, "What evaporates.")
    cost = one(CostGiven, "What it costs, against a new part; null when no rates were given.", null=True)
    place = one(PlaceGiven, "Whether the place allows coating; null where nothing is coated.", null=True)
    links = one(Links, "Related answers.")
    dry_run = fields.Boolean(
        metadata=about(
            "True where it was only asked for and nothing was kept; its `links` lead nowhere yet.",
            enum=[True],
            optional=True,
        )
    )


class ProcedureList(Answer):
    items = many(ProcedureAnswer, "Procedures of the line item, last issued first.")


class TimelineAnswer(TimelineGiven):
    procedure = text("The id of the procedure.")
    line_item = one(LineItemNamed, "The line item.")
    pack = one(PackNamed, "The rule pack that decided.")
