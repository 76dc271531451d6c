"""What is sent and answered about the estimates that a shop's finished jobs have moved."""

from __future__ import annotations

from schemas.answers import Answer, PackNamed, many, moment, number, one, text, truth, whole
from schemas.fields import Truth, about
from schemas.refusing import Refusing


class FreezeRequest(Refusing):
    frozen = Truth(
        required=True,
        metadata=about("Whether the estimate is held as it is; later reports are kept in either case."),
    )


class QuantileFactors(Answer):
    p50 = number("Half of all jobs stay under the catalogue's median times this.")
    p80 = number("80 % of all jobs stay under the catalogue's median times this.")
    p95 = number("95 % of all jobs stay under the catalogue's median times this.")


class EstimateMembers(Answer):
    stage = text("The stage.")
    title = text("The stage in a few words.")
    jobs = whole("How many finished jobs of the shop are counted; 0: the catalogue's figures hold.")
    set_aside = whole("How many reports are kept without learning from them.")
    factor = number("The shop's median as a multiple of the catalogue's.")
    quantile_factors = one(QuantileFactors, "What most jobs stay under, as multiples of its median.")
    frozen = truth("Whether later reports leave it as it is.")
    frozen_at = moment("Since when; null where it is not frozen.", null=True)
    reset_at = moment("When it was begun anew last; null: never.", null=True)


class EstimateAnswer(EstimateMembers):
    pack = one(PackNamed, "The rule pack whose catalogue it is held against.")


class EstimateList(Answer):
    pack = one(PackNamed, "The rule pack whose catalogue they are held against.")
    shop_factor = number(
        "How many times longer than the catalogue says the shop takes over all, cautiously judged: stages"
        " with few jobs are expected near it."
    )
    items = many(
        EstimateMembers, "Every stage that was reported on or decided about, in the order of the names."
    )


FREEZE = {
    "freeze": {"summary": "Hold it as it is", "value": {"frozen": True}},
    "unfreeze": {"summary": "Let reports move it again", "value": {"frozen": False}},
}
