"""What the members of the catalogue lists mean."""

from __future__ import annotations

from rules.jurisdictions import CoatingRole, Convention
from schemas.answers import Answer, PackNamed, many, number, numbers, one, scalar, table, text, texts
from schemas.procedure.cautions import SIGNALS
from schemas.procedure.stages import CheckGiven


class ValueMeaning(Answer):
    value = text("A value of the enumeration.")
    meaning = text("What it means.")


class FactDeclared(Answer):
    fact = text("The fact's name, as rules read it.")
    about = text("What it says.")
    kind = text("The type of its value.", enum=["enumeration", "boolean", "number"])
    origin = text("Who states it.", enum=["line_item", "substrate", "rules"])
    values = many(ValueMeaning, "The values of an enumeration; empty for the other kinds.")
    unit = text("The unit of a number.", null=True)
    minimum = number("The smallest number accepted.", null=True)
    maximum = number("The largest number accepted.", null=True)
    cut_points = numbers("The numbers where rules may tell cases apart.")
    default = scalar("The cautious value taken when the fact is not given; null: it must be given.")
    applies_when = text("When the fact applies at all; null: always.", null=True)
    given_as = text("Where in a line item it is given, as a JSON pointer.", null=True)


class FigureRange(Answer):
    low = number("Lower end.")
    high = number("Upper end.")
    evidence = text("A source, `common practice` or `from memory`.")


class SubstrateRow(Answer):
    symbol = text("ISO 1043-1 symbol, or `unknown`.")
    name = text("What the material is called.")
    aliases = texts("Words of the trade that are understood.")
    typical_parts = texts("Parts that are often made of it.")
    properties = table(scalar("A value.", null=False), "What the rules read of the material, by fact.")
    figures = table(one(FigureRange, "A range."), "Measured properties; the unit is in the name.")
    notes = texts("What to know of the material.")
    source = text("Where the row comes from.")


class TemperatureTermDeclared(Answer):
    at_c = number("The temperature at which the minutes hold, in °C.")
    activation_kj_per_mol = number("The activation energy of the Arrhenius equation.")
    valid_from_c = number("The lowest temperature at which it is known, in °C.")
    valid_to_c = number("The highest temperature at which it is known, in °C.")


class WindowDeclared(Answer):
    to = texts("The first of these stages that follows is held to the window.")
    not_before_min = number("No sooner than this after the end of the stage, in minutes.")
    not_after_min = number("No later than this, in minutes; null: any time later.", null=True)
    if_missed = text("The stage to go back to when the window is missed.", null=True)
    by_temperature = one(
        TemperatureTermDeclared,
        "How both bounds go by the air; null: they are the same in any air.",
        null=True,
    )
    source = text("Where the window comes from; empty where the stage's own source is that.")


class StageDeclared(Answer):
    stage = text("The stage's name.")
    title = text("The stage in a few words.")
    phase = text("The phase of the job it belongs to.")
    after = texts("Stages that come earlier whenever both are present.")
    resource = text("Where it is done.")
    labour = text("The category of labour.")
    instructions = texts("What to do; parameters stand in braces.")
    parameters = table(scalar("A value.", null=False), "Parameters with their values in the catalogue.")
    window = one(WindowDeclared, "When the next stage may start.", null=True)
    materials = texts("Materials it uses.")
    check = one(CheckGiven, "How to tell that it succeeded.", null=True)
    cautions = texts("Cautions it carries.")
    source = text("Where it comes from.")


class CautionDeclared(Answer):
    caution = text("The caution's name.")
    title = text("The caution in a few words.")
    signal = text("How grave it is.", enum=[*SIGNALS])
    hazard = text("What can hurt the person who does the work.")
    protect = text("What protects.")
    first_measure = text("What to do first when it has happened.")
    defer = text("What prevails over this caution.")
    ghs = texts("Hazard statement codes of the Globally Harmonized System.")
    source = text("Where it comes from.")


class CategoryDeclared(Answer):
    category = text("The category's name.")
    title = text("The category in words.")
    roles = texts(f"What falls into it, of {', '.join(role.value for role in CoatingRole)}.")
    limit_g_per_l = number("The most that may be in a litre, ready to use, in grams.")
    convention = text("What is taken out of the volume.", enum=[each.value for each in Convention])
    evidence = text("Where the limit comes from.")


class JurisdictionDeclared(Answer):
    jurisdiction = text("The name by which a line item says where the shop is.")
    title = text("What it is.")
    within = text("The jurisdiction around it, whose limits and cautions hold too.", null=True)
    edition = text("Which text the limits are from; what is in force is for the shop to check.")
    exempt_compounds = texts("Solvents that do not count as volatile organic compounds; none: all count.")
    categories = many(CategoryDeclared, "What is limited.")
    adds = table(texts("Cautions."), "By caution: those that stand beside it here.")
    over_limit = texts("Cautions of a coating that is over its limit.")
    source = text("Where it comes from.")


class VocabularyList(Answer):
    pack = one(PackNamed, "The active rule pack.")
    items = many(FactDeclared, "Every fact a rule may read.")


class SubstrateList(Answer):
    pack = one(PackNamed, "The active rule pack.")
    items = many(SubstrateRow, "Every material.")


class StageList(Answer):
    pack = one(PackNamed, "The active rule pack.")
    items = many(StageDeclared, "The stage catalogue.")


class CautionList(Answer):
    pack = one(PackNamed, "The active rule pack.")
    items = many(CautionDeclared, "The catalogue of cautions.")


class JurisdictionList(Answer):
    pack = one(PackNamed, "The active rule pack.")
    items = many(JurisdictionDeclared, "Every jurisdiction.")
