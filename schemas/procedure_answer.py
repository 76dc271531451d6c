"""What the members of a procedure mean, with their units."""

from __future__ import annotations

from schemas.answers import (
    Answer,
    PackNamed,
    decimal,
    many,
    moment,
    number,
    one,
    scalar,
    table,
    text,
    texts,
    truth,
    whole,
)

DISPOSITIONS = ("repair", "replace", "refer")
SIGNALS = ("danger", "warning", "notice")


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


class CautionAsked(Answer):
    caution = text("The caution's name in the catalogue.")
    title = text("The caution in a few words.")
    signal = text("How grave it is.", enum=[*SIGNALS])
    hazard = text("What can hurt the person who does the work.")
    protect = text("What protects.")
    first_measure = text("What to do first when it has happened.")
    defer = text("What prevails over this caution.")
    ghs = texts("Hazard statement codes of the Globally Harmonized System.")
    stages = texts("The stages that carry it; empty: the whole job.")
    because = texts("The rules that asked for it; empty: the stages themselves carry it.")


class Minutes(Answer):
    p50 = number("Half of all jobs take at most this long, in minutes.")
    p80 = number("80 % of all jobs take at most this long, in minutes.")
    p95 = number("95 % of all jobs take at most this long, in minutes.")


class WindowGiven(Answer):
    after = text("The stage whose end the minutes count from.")
    not_before_min = number("The stage starts no sooner than this, in minutes.")
    not_after_min = number(
        "The stage starts no later than this, in minutes; null: any time later.", null=True
    )
    if_missed = text("The stage to go back to when the window is missed.", null=True)


class CheckGiven(Answer):
    method = text("How to tell that the stage succeeded.")
    accept = text("What is good enough.")
    otherwise = text("What to do when it is not.")


class StageGiven(Answer):
    position = whole("The place in the order of work, from 1.")
    stage = text("The stage's name in the catalogue.")
    title = text("The stage in a few words.")
    phase = text("The phase of the job it belongs to.")
    instructions = texts("What to do, step by step.")
    resource = text("Where it is done.")
    labour = text("The category of labour.")
    work_min = one(Minutes, "Hands-on time.")
    wait_min = number("Time after the work before a stage that depends on it may start, in minutes.")
    wait_note = text("When the wait was reckoned at the edge of what is known.", null=True)
    window = one(WindowGiven, "When the stage may start; null: at any time in its turn.", null=True)
    abrasive = text("The P-grade of the abrasive.", null=True)
    coats = whole("How many coats.", null=True)
    parameters = table(scalar("A value.", null=False), "All parameters of the stage.")
    materials = texts("Materials it uses, by name in `materials`.")
    check = one(CheckGiven, "How to tell that it succeeded.", null=True)
    cautions = texts("Cautions it carries, by name in `cautions`.")
    because = texts("The rules that asked for it.")


class TimedStageGiven(Answer):
    position = whole("The place in the order of work, from 1.")
    stage = text("The stage's name.")
    earliest_start_min = number("The earliest start, in minutes from the start of the job.")
    latest_start_min = number("The latest start that keeps the finish of the job, in minutes.")
    slack_min = number("Latest less earliest start, in minutes.")
    work_end_min = number("When its work ends, started at the earliest, in minutes.")
    ready_min = number("When its wait is over, in minutes.")
    critical = truth("Whether a delay of this stage delays the job.")


class TimelineGiven(Answer):
    start_at = moment("The start that was given.", null=True)
    finish_at = moment("The finish, when a start was given.", null=True)
    elapsed_min = number("Start to finish at median durations, in minutes.")
    stages = many(TimedStageGiven, "The earliest schedule.")


class TotalsGiven(Answer):
    labour_hours = table(number("Hours."), "Hours by labour category, in tenths.")
    elapsed_min = one(Minutes, "From start to finish.")
    work_min = one(Minutes, "All hands-on time.")


class MaterialNeeded(Answer):
    material = text("The material class's name.")
    title = text("What it is.")
    kind = text("Coating, filler, cleaner or consumable.")
    stages = texts("The stages that use it.")
    quantity_ml = decimal("How much, in millilitres, ready to use; null: not reckoned.", null=True)
    basis = text("How the quantity was reckoned.")


class EmissionsGiven(Answer):
    jurisdiction = text("The jurisdiction that was given.", null=True)
    voc_total_g = decimal("Volatile organic compounds as applied, in grams.")
    convention = text("How the figure was reckoned.")
    limits = text("What is said of legal limits.")


class CostGiven(Answer):
    currency = text("ISO 4217 code.")
    labour = table(decimal("Money."), "Labour by category.")
    labour_total = decimal("All labour.")
    replacement_part = decimal("The price of a new part, as given.", null=True)
    replacement_lead_days = whole("Days until a new part arrives, as given.", null=True)
    not_included = texts("What the total leaves out.")


class PlaceGiven(Answer):
    stages = texts("The stages that coat, for which this matters.")
    dew_point_c = number("Dew point of the air, in degrees Celsius.")
    surface_margin_k = number("How far the surface is above the dew point, in kelvin.", null=True)
    warning = text("What to do when the margin is too small.", null=True)


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
    emissions = one(EmissionsGiven, "What evaporates.")
    cost = one(CostGiven, "What the labour costs; null when no rates were given.", null=True)
    place = one(PlaceGiven, "Whether the place allows coating; null where nothing is coated.", null=True)
    links = one(Links, "Related answers.")


class ProcedureList(Answer):
    items = many(ProcedureAnswer, "Procedures of the line item, last issued first.")


class TimelineAnswer(TimelineGiven):
    procedure = text("The id of the procedure.")
    line_item = one(LineItemNamed, "The line item.")
    pack = one(PackNamed, "The rule pack that decided.")
