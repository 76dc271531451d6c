"""Rules, cases and assertions, member by member."""

from __future__ import annotations

from rules.pack import Disposition
from schemas import pack_files_fields as of
from schemas.pack_files_shapes import GIVEN, SCALAR, SETTINGS, WANTED, WHEN

DISPOSITIONS = tuple(each.value for each in Disposition)


class Decide(of.Thing):
    disposition = of.choice(*DISPOSITIONS, required=True)
    reason = of.text("What people read.", True)


class Rule(of.Thing):
    id = of.name(required=True)
    when = of.Shaped(WHEN, required=True)
    conclude = of.MapOf(of.SNAKE, of.Shaped(SCALAR), **of.told("Derived facts."))
    require = of.names("Stages.")
    set = of.Shaped(SETTINGS, **of.told("stage.parameter: value"))
    caution = of.names()
    decide = of.part(Decide)
    overrides = of.names("Rules whose differing effects give way to this one's.")
    why = of.text(required=True)
    source = of.text(required=True)


class Policy(of.Thing):
    """What a shop asks of a repair before it is advised; at least one limit is stated."""

    id = of.name(required=True)
    when = of.Shaped(WHEN, **of.told("The line items that it speaks of; left out, of all."))
    minimum_saving_pct = of.number(
        "Of what the replacement costs at the median; below zero, a repair may cost more.",
        at_least=-100,
        at_most=100,
    )
    minimum_probability_pct = of.number(
        "How likely the repair is to be the cheaper one.", at_least=0, at_most=100
    )
    maximum_elapsed_min = of.number("From start to finish of 80 % of such repairs.", at_least=0)
    why = of.text(required=True)
    source = of.text(required=True)


class Expected(of.Thing):
    disposition = of.choice(*DISPOSITIONS)
    present = of.names("Stages.")
    absent = of.names("Stages.")
    order = of.names("Stages in this order, others between.")
    parameters = of.Shaped(SETTINGS, **of.told("stage.parameter: value"))
    cautions = of.names()


class Case(of.Thing):
    name = of.text(required=True)
    given = of.Shaped(GIVEN, **of.told("The material and facts of a line item.", True))
    expect = of.part(Expected, required=True)


ONE = {"enum": list(DISPOSITIONS)}
ONE_OR_MORE = {"anyOf": [ONE, {"type": "array", "items": ONE, "minItems": 1, "uniqueItems": True}]}


class Answer(of.Thing):
    disposition = of.Shaped(ONE_OR_MORE, **of.told())
    reasons = of.names("Rules whose reason people are told.", least=1)
    present = of.names("All of these stages.", least=1)
    any_of = of.names("At least one of these stages.", least=1)
    absent = of.names("None of these stages.", least=1)
    cautions = of.names(least=1)
    no_stages = of.Shaped({"const": True}, **of.told())


class NothingBetween(of.Thing):
    after = of.names(required=True, least=1)
    before = of.names(required=True, least=1)
    stages = of.names(required=True, least=1)


class Carry(of.Thing):
    stages = of.names("These stages, and", least=1)
    users_of = of.names("those that use one of these materials,", least=1)
    cautions = of.names("carry these cautions themselves.", required=True, least=1)


class Claim(Answer):
    order = of.names("Stages in this order, as far as they are present.", least=2)
    nothing_between = of.part(NothingBetween)
    parameters = of.Shaped(WANTED, **of.told("stage.parameter: value, or its bounds"))
    carry = of.part(Carry)


class Assertion(of.Thing):
    id = of.name(required=True)
    when = of.Shaped(WHEN, **of.told("Of which facts it speaks; of all, when left out."))
    where = of.part(Answer, "Of which answers it speaks; of all, when left out.")
    always = of.part(Claim, "What they have.")
    never = of.part(Answer, "What they have not.")
    overlays_may_differ = of.truth("It need not hold under an overlay.")
    why = of.text(required=True)
    source = of.text(required=True)
