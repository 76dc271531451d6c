"""What each kind of pack file holds, member by member.

These schemas are published for editors (`schemas.pack_files_published`). The loader checks all of this
again, and everything that needs more than one place to be seen.
"""

from __future__ import annotations

from marshmallow import fields

from rules.jurisdictions import TOPCOATS, CoatingRole, Convention
from rules.loading.mixing import HEAVIEST, LIGHTEST
from rules.pack import SUBSTRATE_FIGURES, Kinetics
from rules.vocabulary import Kind, Origin
from schemas import pack_files_fields as of
from schemas.pack_files_fields import ANY_NAME
from schemas.pack_files_identification import Identification
from schemas.pack_files_kinetics import ByFilm, ByHumidity, ByTemperature, Drying, Heat, PotLife
from schemas.pack_files_quantities import MIX, SIZES, Amount, Loss
from schemas.pack_files_rules import Assertion, Case, Policy, Rule
from schemas.pack_files_shapes import BLOCK, HARDER, PARAMETERS, SCALAR

SIGNALS = ("danger", "warning", "notice")
SYMBOL = r"[A-Z][A-Za-z0-9]*([-+/.,(]+[A-Za-z0-9]+\)?)*|unknown"


class PackHeader(of.Thing):
    name = of.name(required=True)
    version = of.text(required=True)
    title = of.text(required=True)
    effective_from = fields.String(**of.told("The first day.", True, format="date"))
    effective_until = fields.String(**of.told("The last day; null while no end is known.", format="date"))
    extends = of.name("For an overlay: the name of the pack that it is laid on.")


class Fact(of.Thing):
    about = of.text("What the fact says, in a sentence.", True)
    origin = of.choice(*(origin.value for origin in Origin), about="Who states it; line_item when left out.")
    given_as = of.text("JSON pointer (RFC 6901) of the fact in a line item.", pattern="^(/([^/~]|~[01])+)+$")
    default = of.Shaped(SCALAR, **of.told("The cautious value, taken when nobody states the fact."))
    applies_when = of.Shaped(BLOCK, **of.told("When the fact may be stated at all."))
    otherwise = of.Shaped(SCALAR, **of.told("Its value when it does not apply."))


class EnumerationFact(Fact):
    kind = of.Shaped({"const": Kind.ENUMERATION.value}, required=True)
    values = of.MapOf(
        of.SNAKE, of.text(required=True), **of.told("Each member and what it means.", True, minProperties=1)
    )


class BooleanFact(Fact):
    kind = of.Shaped({"const": Kind.BOOLEAN.value}, required=True)


class NumberFact(Fact):
    kind = of.Shaped({"const": Kind.NUMBER.value}, required=True)
    unit = of.text()
    minimum = of.number(required=True)
    maximum = of.number(required=True)
    cut_points = of.list_of(of.number(required=True), "Where rules may divide it, ascending.")


class Figure(of.Thing):
    low = of.number(required=True)
    high = of.number(required=True)
    evidence = of.text("A document, `common practice` or `from memory`.", True)


Figures = of.Thing.from_dict({figure: of.part(Figure) for figure in SUBSTRATE_FIGURES}, name="Figures")


class Substrate(of.Thing):
    symbol = of.text("ISO 1043-1, ISO 1629 or ISO 18064, or unknown.", True, f"^({SYMBOL})$")
    name = of.text(required=True)
    aliases = of.texts("Words of the trade.")
    typical_parts = of.texts()
    properties = of.MapOf(
        of.SNAKE, of.Shaped(SCALAR), **of.told("Every fact whose origin is the substrate.", True)
    )
    figures = of.part(Figures)
    notes = of.texts()
    source = of.text(required=True)


class Work(of.Thing):
    fixed_min = of.number("Hands-on minutes, whatever the size.", True, at_least=0)
    applying_min = of.number("Minutes of these in which what is mixed is applied.", at_least=0)
    per_m2_min = of.number("Minutes for each square metre.", at_least=0)
    per_dm_min = of.number("Minutes for each 100 mm of damage.", at_least=0)
    spread = of.number("Standard deviation of the logarithm.", at_least=0, at_most=2)
    harder = of.Shaped(HARDER, **of.told("What makes the work harder, and by what factor."))


class Wait(ByTemperature):
    minutes = of.number(required=True, at_least=0)
    kinetics = of.choice(*(each.value for each in Kinetics))
    film = of.part(ByFilm, "How it goes by the dry film; where left out, as the material says.")
    humidity = of.part(ByHumidity, "How it goes by humidity; where left out, as the material says.")
    heat = of.part(Heat, "How fast a bake warms up and cools.")


class Window(ByTemperature):
    to = of.names("The first of these that follows.", True, least=1)
    not_before_min = of.number(required=True, at_least=0)
    not_after_min = of.Shaped({"type": ["number", "null"], "minimum": 0}, required=True)
    if_missed = of.Shaped({"type": ["string", "null"], "pattern": f"^{of.KEBAB}$"}, required=True)
    source = of.text()


class Check(of.Thing):
    method = of.text(required=True)
    accept = of.text(required=True)
    otherwise = of.text(required=True)


class Climate(of.Thing):
    """What the place is after the stage; what is left out stays as it was."""

    air_c = of.number()
    surface_c = of.number()
    humidity_pct = of.number(at_least=0, at_most=100)
    dew_margin_k = of.number("How far the surface is then above the dew point at least.", at_least=0)


class Stage(of.Thing):
    id = of.name(required=True)
    title = of.text(required=True)
    phase = of.name(required=True)
    after = of.names("Stages that come earlier whenever both are present.")
    resource = of.name(required=True)
    labour = of.name(required=True)
    instructions = of.texts("May name parameters in braces.", True, least=1)
    work = of.part(Work, required=True)
    wait = of.part(Wait)
    window = of.part(Window)
    parameters = of.Shaped(PARAMETERS, **of.told("What rules may set, with the value when none does."))
    from_substrate = of.MapOf(
        of.SNAKE, of.name(required=True, form=of.SNAKE), **of.told("Parameter: the fact that fixes it.")
    )
    materials = of.names()
    check = of.part(Check)
    cautions = of.names()
    brings = of.part(Climate, "The place that the stage makes, for all that come after.")
    amounts = of.list_of(
        of.part(Amount, required=True), "What it takes of materials that don't go by area.", unique=False
    )
    may_pause = of.truth("Whether a break of the day may interrupt the work.")
    source = of.text(required=True)


class Caution(of.Thing):
    id = of.name(required=True)
    title = of.text(required=True)
    signal = of.choice(*SIGNALS, required=True)
    hazard = of.text(required=True)
    protect = of.text(required=True)
    first_measure = of.text(required=True)
    defer = of.text(required=True)
    ghs = of.list_of(
        of.text(required=True, pattern="^(EU)?H[0-9]{3}[A-Za-z]{0,2}$"), "Hazard statements of the GHS."
    )
    source = of.text(required=True)


class Application(of.Thing):
    """The place in which a material may be applied: lowest and highest values that are still good."""

    air_c = of.list_of(of.number(required=True), "Air.", True, least=2, unique=False)
    surface_c = of.list_of(of.number(required=True), "Surface.", True, least=2, unique=False)
    humidity_pct = of.list_of(
        of.number(required=True, at_least=0, at_most=100), "Relative humidity.", True, least=2, unique=False
    )
    dew_margin_k = of.number("How far the surface is above the dew point at least.", True, at_least=0)
    source = of.text(required=True)


class Material(of.Thing):
    id = of.name(required=True)
    title = of.text(required=True)
    coating_role = of.choice(
        *(role.value for role in CoatingRole if role not in TOPCOATS),
        about="What it is for, by which jurisdictions sort it.",
    )
    application = of.part(Application)
    drying = of.part(Drying, "What waits after it go by beside temperature.")
    pot_life = of.part(PotLife, "How long a mixed batch can be used.")
    alternative = of.name("A class for the same use that sets less free.")
    losses = of.list_of(of.part(Loss, required=True), "What does not get onto the part.", unique=False)
    source = of.text(required=True)


class Unmixed(Material):
    density_g_per_ml = of.number(at_least=LIGHTEST, at_most=HEAVIEST)
    packages_ml = SIZES


class MixedCoating(Material):
    """A mixed material states neither content nor density: they follow from its components."""

    kind = of.Shaped({"const": "coating"}, required=True)
    film_um = of.number("Dry film of one coat.", True, at_least=0)
    volume_solids_pct = of.number("Ready to spray.", True, at_least=0, at_most=100)
    transfer_efficiency_pct = of.number(required=True, at_least=0, at_most=100)
    mix = MIX


class Coating(Unmixed):
    kind = of.Shaped({"const": "coating"}, required=True)
    film_um = of.number("Dry film of one coat.", True, at_least=0)
    volume_solids_pct = of.number(required=True, at_least=0, at_most=100)
    transfer_efficiency_pct = of.number(required=True, at_least=0, at_most=100)
    voc_g_per_l = of.number(required=True, at_least=0)


CALLED = of.text("How parameters of stages call for it in the place of the usual cleaner.")


class MixedCleaner(Material):
    kind = of.Shaped({"const": "cleaner"}, required=True)
    called = CALLED
    use_ml_per_m2 = of.number(required=True, at_least=0)
    mix = MIX


class Cleaner(Unmixed):
    kind = of.Shaped({"const": "cleaner"}, required=True)
    called = CALLED
    use_ml_per_m2 = of.number(required=True, at_least=0)
    voc_g_per_l = of.number(required=True, at_least=0)


class Filler(Unmixed):
    kind = of.Shaped({"const": "filler"}, required=True)
    voc_g_per_l = of.number(at_least=0)


class Consumable(Unmixed):
    kind = of.Shaped({"const": "consumable"}, required=True)
    voc_g_per_l = of.number(at_least=0)
    use_ml_per_m2 = of.number(at_least=0)
    lasts_cm2 = of.number("What one piece does.", at_least=1)
    graded = of.truth("Whether it comes in the grades of abrasives.")


MATERIALS = (MixedCoating, Coating, MixedCleaner, Cleaner, Filler, Consumable)


class Category(of.Thing):
    id = of.name(required=True)
    title = of.text(required=True)
    roles = of.list_of(
        of.choice(*(role.value for role in CoatingRole), required=True), "What falls into it.", True, least=1
    )
    limit_g_per_l = of.number("The most, ready to use.", True, at_least=0)
    convention = of.choice(
        *(each.value for each in Convention), about="Where it is another than the jurisdiction's."
    )
    evidence = of.text("A document, or `from memory`.", True)


class Jurisdiction(of.Thing):
    """Limits of one authority, and the cautions that its rules on spraying add."""

    id = of.name(required=True)
    title = of.text(required=True)
    within = of.name("The jurisdiction around it, whose limits and cautions hold too.")
    edition = of.text("Which text the limits are from.", True)
    convention = of.choice(
        *(each.value for each in Convention), about="What is taken out of the volume.", required=True
    )
    exempt_compounds = of.texts("Solvents that do not count; none: all count.")
    categories = of.list_of(of.part(Category, required=True), required=True, least=1, unique=False)
    adds = of.MapOf(
        of.KEBAB,
        of.names(required=True, least=1),
        **of.told("Caution: the cautions that stand beside it here."),
    )
    over_limit = of.names("Cautions of a coating over its limit.", True, least=1)
    source = of.text(required=True)


class WithdrawnRule(of.Thing):
    rule = of.name(required=True)
    why = of.text(required=True)


class WithdrawnPolicy(of.Thing):
    policy = of.name(required=True)
    why = of.text(required=True)


class Amendments(of.Thing):
    """The listed members replace those of the pack below; mappings are merged member by member."""

    stages = of.MapOf(of.KEBAB, of.ChangesOf(Stage), **of.told())
    cautions = of.MapOf(of.KEBAB, of.ChangesOf(Caution), **of.told())
    materials = of.MapOf(of.KEBAB, of.ChangesOf(*MATERIALS), **of.told())
    substrates = of.MapOf(ANY_NAME, of.ChangesOf(Substrate), **of.told())
    jurisdictions = of.MapOf(of.KEBAB, of.ChangesOf(Jurisdiction), **of.told())
    policies = of.MapOf(of.KEBAB, of.ChangesOf(Policy), **of.told())


class PackFile(of.Thing):
    """Everything that may stand at the top of a file."""

    pack = of.part(PackHeader, required=True)
    phases = of.names("In working order.", True, least=1)
    resources = of.names(required=True, least=1)
    labour = of.names(required=True, least=1)
    facts = of.MapOf(of.SNAKE, of.EitherOf(EnumerationFact, BooleanFact, NumberFact), required=True)
    substrates = of.list_of(of.part(Substrate, required=True), required=True, unique=False)
    stages = of.list_of(of.part(Stage, required=True), required=True, unique=False)
    cautions = of.list_of(of.part(Caution, required=True), required=True, unique=False)
    materials = of.list_of(of.EitherOf(*MATERIALS), required=True, unique=False)
    jurisdictions = of.list_of(of.part(Jurisdiction, required=True), required=True, unique=False)
    policies = of.list_of(of.part(Policy, required=True), required=True, unique=False)
    rules = of.list_of(of.part(Rule, required=True), required=True, unique=False)
    cases = of.list_of(of.part(Case, required=True), required=True, unique=False)
    assertions = of.list_of(of.part(Assertion, required=True), required=True, unique=False)
    identification = of.part(Identification, required=True)
    amend = of.part(Amendments, required=True)
    withdraw = of.list_of(of.EitherOf(WithdrawnRule, WithdrawnPolicy), required=True, unique=False)
