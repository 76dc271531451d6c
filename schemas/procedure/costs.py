"""What a procedure costs, what a new part would cost, and what is advised."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from planning.costs.model import Advice, Alternative, Cost, CostItem, ItemKind, MoneyQuantiles, PolicySaid
from schemas.answers import (
    Answer,
    decimal,
    many,
    number,
    one,
    table,
    text,
    texts,
    truth,
    whole,
)
from schemas.figures import decimal as decimal_text
from schemas.figures import quantiles
from schemas.procedure.stages import Minutes

Document = dict[str, Any]


class CostItemGiven(Answer):
    kind = text("What money goes into.", enum=[each.value for each in ItemKind])
    what = text("The labour category, the material, or the feature with a sensor.")
    quantity = decimal("How many.")
    unit = text("Of what: `hour`, `litre`, `piece` or `package`.")
    price = decimal("Money for one of them, as given.")
    amount = decimal("Quantity x price, rounded.")


class MoneyQuantilesGiven(Answer):
    p50 = decimal("What half of such jobs cost at most.")
    p80 = decimal("What 80 % cost at most.")
    p95 = decimal("What 95 % cost at most.")


class AlternativeGiven(Answer):
    items = many(CostItemGiven, "Line by line.")
    total = decimal("The sum of the amounts: labour at the median, in tenths of an hour rounded up.")
    expected = one(
        MoneyQuantilesGiven,
        "What such jobs cost at the minutes that they take, not rounded up; null where nothing was weighed.",
        null=True,
    )
    elapsed_min = one(
        Minutes,
        "From the order to the fitted part: lead time at 24 hours a day, the stages with the doors that a"
        " calendar closes, and the hours of fitting as given.",
    )
    stages = texts("The stages, in the order of work.")
    supplied_as = text("How the new part is taken to be supplied; null for a repair.", null=True)
    not_included = texts("What the total leaves out.")


class AlternativesGiven(Answer):
    repair = one(AlternativeGiven, "Null where the rules allow none.", null=True)
    replacement = one(
        AlternativeGiven,
        "The same part bought new, painted and fitted; null where nothing is known of its price.",
        null=True,
    )


class PolicySaidGiven(Answer):
    policy = text("A policy of the rule pack that speaks of this line item.")
    met = truth("Whether the repair meets it.")
    found = texts("Limit by limit, what was found and what is asked.")
    why = text("Why the shop asks for it.")
    source = text("Where it comes from.")


class AdviceGiven(Answer):
    advised = text(
        "What is advised. It changes nothing of the disposition; a part that the rules refer or replace is"
        " never advised to be repaired. Null where nothing is advised.",
        null=True,
        enum=["repair", "replace", None],
    )
    because = texts("Why, in sentences.")
    probability_repair_cheaper = number(
        "How likely the repair is to cost less, from 0 to 1, by the spread of the works of both; null where"
        " it was not weighed.",
        null=True,
    )
    saving = text(
        "What the repair costs less at the median; below zero, what it costs more.",
        null=True,
        pattern=r"^-?[0-9]+(\.[0-9]+)?$",
    )
    saving_pct = number("The same in per cent of what the replacement costs at the median.", null=True)
    threshold_part_price = decimal(
        "The price of the new part at which both cost the same at the median; null where it was not weighed,"
        " or where the repair would cost less even if the part cost nothing.",
        null=True,
    )
    policies = many(PolicySaidGiven, "The policies that spoke.")
    caveats = texts("What was left out of account where repair and new part were weighed.")


class CostGiven(Answer):
    currency = text("ISO 4217 code.")
    rounding = text("How amounts are rounded.")
    labour = table(decimal("Money."), "Labour by category.")
    labour_total = decimal("All labour.")
    materials_total = decimal("All materials that have a price.")
    total = decimal("Labour and materials of the stages.")
    items = many(CostItemGiven, "Labour and materials of the stages, line by line.")
    replacement_part = decimal("The price of a new part, as given.", null=True)
    replacement_lead_days = whole("Days until a new part arrives, as given.", null=True)
    not_included = texts("What the total leaves out.")
    alternatives = one(AlternativesGiven, "The repair and the replacement, fitting included.")
    advice = one(AdviceGiven, "What is advised, and why.")


def cost_document(cost: Cost) -> Document:
    return {
        "currency": cost.currency,
        "rounding": cost.rounding,
        "labour": {category: decimal_text(amount) for category, amount in cost.labour.items()},
        "labour_total": decimal_text(cost.labour_total),
        "materials_total": decimal_text(cost.materials_total),
        "total": decimal_text(cost.total),
        "items": [_item(item) for item in cost.items],
        "replacement_part": decimal_text(cost.replacement_part),
        "replacement_lead_days": cost.replacement_lead_days,
        "not_included": list(cost.not_included),
        "alternatives": {
            "repair": _alternative(cost.repair) if cost.repair else None,
            "replacement": _alternative(cost.replacement) if cost.replacement else None,
        },
        "advice": _advice(cost.advice),
    }


def _item(item: CostItem) -> Document:
    return {
        "kind": item.kind.value,
        "what": item.what,
        "quantity": _plain(item.quantity),
        "unit": item.unit,
        "price": decimal_text(item.price),
        "amount": decimal_text(item.amount),
    }


def _alternative(alternative: Alternative) -> Document:
    return {
        "items": [_item(item) for item in alternative.items],
        "total": decimal_text(alternative.total),
        "expected": _expected(alternative.expected) if alternative.expected else None,
        "elapsed_min": quantiles(alternative.elapsed_min),
        "stages": list(alternative.stages),
        "supplied_as": alternative.supplied_as,
        "not_included": list(alternative.not_included),
    }


def _expected(money: MoneyQuantiles) -> Document:
    return {
        "p50": decimal_text(money.p50),
        "p80": decimal_text(money.p80),
        "p95": decimal_text(money.p95),
    }


def _advice(advice: Advice) -> Document:
    return {
        "advised": advice.advised.value if advice.advised else None,
        "because": list(advice.because),
        "probability_repair_cheaper": advice.probability_repair_cheaper,
        "saving": decimal_text(advice.saving),
        "saving_pct": advice.saving_pct,
        "threshold_part_price": decimal_text(advice.threshold_part_price),
        "policies": [_policy(said) for said in advice.policies],
        "caveats": list(advice.caveats),
    }


def _policy(said: PolicySaid) -> Document:
    return {
        "policy": said.policy,
        "met": said.met,
        "found": list(said.found),
        "why": said.why,
        "source": said.source,
    }


def _plain(quantity: Decimal) -> str:
    """Without needless zeros."""
    return format(quantity.normalize(), "f")
