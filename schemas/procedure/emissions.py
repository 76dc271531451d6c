"""What a procedure sets free."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from planning.emissions.model import Emissions, Held, MixEmission
from rules.jurisdictions import Convention
from schemas.answers import (
    Answer,
    decimal,
    many,
    one,
    text,
    texts,
    truth,
)
from schemas.figures import decimal as decimal_text

Document = dict[str, Any]


class HeldGiven(Answer):
    jurisdiction = text("Whose limit it is: the jurisdiction that was given, or the one around it.")
    category = text("The category there, by name in `/v1/jurisdictions`.")
    title = text("The category in words.")
    weighed = texts("The materials that the value is of: the mix, or the coats of a topcoat, weighed as one.")
    convention = text("What is taken out of the volume.", enum=[each.value for each in Convention])
    value_g_per_l = decimal("Grams a litre in that convention; null: the content is not known.", null=True)
    limit_g_per_l = decimal("The most that is allowed, as published.")
    over = truth("Whether the value is over the limit; null: the content is not known.", null=True)
    evidence = text("Where the limit comes from.")


class OtherMixGiven(Answer):
    material = text("Another class of material for the same purpose.")
    title = text("What it is.")
    held = one(HeldGiven, "How it stands to the limit; the choice is the shop's.")


class MixGiven(Answer):
    material = text("The material class's name, as in `materials`.")
    title = text("What it is.")
    total_g_per_l = decimal(
        "Volatile organic compounds in a litre as applied, nothing taken out of the volume.", null=True
    )
    less_water_and_exempt_g_per_l = decimal(
        "The same, water and exempt compounds taken out of the volume (40 CFR 59.104).", null=True
    )
    voc_g = decimal("What this job sets free of them, in grams; null: no quantity is reckoned.", null=True)
    exempt_g = decimal("What it sets free of exempt compounds, in grams.", null=True)
    held = one(HeldGiven, "Against the most restrictive limit; null: none was held against it.", null=True)
    told = text("The verdict in a sentence.", null=True)
    alternatives = many(OtherMixGiven, "What may be used instead of a mix over its limit.")


class EmissionsGiven(Answer):
    jurisdiction = text("The jurisdiction that was given; null: nothing is held against limits.", null=True)
    voc_total_g = decimal("Volatile organic compounds as applied, in grams: the sum over the mixes.")
    exempt_total_g = decimal(
        "Exempt compounds in grams; where no compound is exempt they count as volatile organic compounds."
    )
    mixes = many(MixGiven, "Every coating, cleaner and filler of the job that evaporates or is limited.")
    convention = text("How the totals were reckoned.")
    limits = text("What is said of legal limits: against which text, what is over, what is not known.")


def emissions_document(emissions: Emissions) -> Document:
    return {
        "jurisdiction": emissions.jurisdiction,
        "voc_total_g": decimal_text(emissions.voc_total_g),
        "exempt_total_g": decimal_text(emissions.exempt_total_g),
        "mixes": [_mix(mix) for mix in emissions.mixes],
        "convention": emissions.convention,
        "limits": emissions.limits,
    }


def _mix(emission: MixEmission) -> Document:
    mix = emission.mix
    return {
        "material": mix.material,
        "title": mix.title,
        "total_g_per_l": decimal_text(mix.total_g_per_l),
        "less_water_and_exempt_g_per_l": decimal_text(mix.less_water_and_exempt_g_per_l),
        "voc_g": decimal_text(emission.voc_g),
        "exempt_g": decimal_text(emission.exempt_g),
        "held": _held(mix.held) if mix.held else None,
        "told": mix.told,
        "alternatives": [
            {"material": other.material, "title": other.title, "held": _held(other.held)}
            for other in mix.alternatives
        ],
    }


def _held(held: Held) -> Document:
    return {
        name: decimal_text(value) if isinstance(value, Decimal) else value
        for name, value in (vars(held) | {"weighed": list(held.weighed)}).items()
    }
