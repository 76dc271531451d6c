"""What the members of an impact mean: a candidate against the procedures issued so far."""

from __future__ import annotations

from marshmallow import fields

from schemas.answers import Answer, PackNamed, many, number, one, table, text, texts, whole
from schemas.fields import about


class LineItemCounts(Answer):
    total = whole("All line items that have a procedure.")
    unchanged = whole("Those that would get the same again.")
    changed = whole("Those that would get another procedure.")
    refused = whole("Those that would get none; `changes` says why.")
    not_compared = whole("Those whose procedure comes from a pack that cannot be read any more.")


class DispositionCounts(Answer):
    before = table(whole("Line items."), "Line items by disposition.")
    after = table(whole("Line items."), "Line items by disposition under the candidate, or `refused`.")


class HoursCompared(Answer):
    before = table(number("Hours."), "Hours by labour category.")
    after = table(number("Hours."), "Hours by labour category under the candidate.")


class DispositionChange(Answer):
    before = text("The disposition of the procedures issued.")
    after = text("That under the candidate; null where there is none.", null=True)


class MemberChanged(Answer):
    stage = text("A stage that is there before and after.")
    member = text("`parameters.NAME`, or a member in the catalogue, such as `window.not_after_min`.")
    before = fields.Raw(allow_none=True, metadata=about("Its value."))
    after = fields.Raw(allow_none=True, metadata=about("Its value under the candidate."))


class StagesChanged(Answer):
    added = texts("Stages that come in.")
    removed = texts("Stages that fall away.")
    moved = texts("Stages that come elsewhere in the order.")
    changed = many(MemberChanged, "What else is different, stage by stage.")


class CautionsChanged(Answer):
    added = texts("Cautions that come in.")
    removed = texts("Cautions that fall away.")


class ElapsedCompared(Answer):
    before = number("Start to finish at median durations, in minutes.", null=True)
    after = number("The same under the candidate.", null=True)


class ImpactExample(Answer):
    line_item = text("The reference of a line item; null where it is one of another shop.", null=True)
    material = text("Its material, as it was given.")
    facts = fields.Dict(metadata=about("The facts it states.", type="object"))
    elapsed_min = one(ElapsedCompared, "How long its procedure takes; null where there is none.")


class ImpactChange(Answer):
    line_items = whole("How many line items change in just this way.")
    situations = whole("How many different statements of facts that are.")
    disposition = one(DispositionChange, "The disposition.")
    refused = text("Why the candidate issues no procedure; null where it does.", null=True)
    stages = one(StagesChanged, "What happens to the stages.")
    cautions = one(CautionsChanged, "What happens to the cautions.")
    labour_hours = one(HoursCompared, "Sums over these line items.")
    example = one(ImpactExample, "One of them.")


class ImpactAnswer(Answer):
    pack = one(PackNamed, "The candidate.")
    line_items = one(LineItemCounts, "How many line items change.")
    situations = whole("How many different statements of facts, by the pack of the procedure, there are.")
    dispositions = one(DispositionCounts, "All that were compared, by disposition.")
    labour_hours = one(HoursCompared, "Sums over the line items that change and get a procedure.")
    changes = many(ImpactChange, "What changes, from most line items to fewest.")
    changes_left_out = whole("How many further changes there are; see `limit`.")
