"""What a pack file says of quantities: mixes, losses, packages, and what stages take."""

from __future__ import annotations

from rules.amounts import FIGURES, Role, Shape
from rules.loading.grades import P_GRADES
from rules.loading.mixing import HEAVIEST, LEAST_PARTS, LIGHTEST, MOST_PARTS
from rules.loading.quantities import LARGEST_ML, SMALLEST_ML
from schemas import pack_files_fields as of

SIZES = of.list_of(
    of.number(required=True, at_least=SMALLEST_ML, at_most=LARGEST_ML),
    "The sizes it is bought in, in whole millilitres.",
)


class Component(of.Thing):
    id = of.name(required=True)
    title = of.text(required=True)
    parts = of.number("Parts by volume.", True, at_least=LEAST_PARTS, at_most=MOST_PARTS)
    density_g_per_ml = of.number(required=True, at_least=LIGHTEST, at_most=HEAVIEST)
    voc_g_per_l = of.number(
        "Volatile organic compounds in a litre of it, exempt ones left out.", True, at_least=0
    )
    role = of.choice(*(role.value for role in Role), about="What it is in the mix.", required=True)
    water_pct = of.number("By volume.", at_least=0, at_most=100)
    exempt_pct = of.number("Exempt compounds, by volume.", at_least=0, at_most=100)
    exempt_density_g_per_ml = of.number(at_least=LIGHTEST, at_most=HEAVIEST)
    only_with = of.name("The stage without which it is left out.")
    packages_ml = SIZES


MIX = of.list_of(
    of.part(Component, required=True), "In the order in which they go in.", True, least=1, unique=False
)


class Loss(of.Thing):
    what = of.text(required=True)
    ml = of.number("Millilitres in each stage.", at_least=0, at_most=1000)
    pct = of.number("Per cent of what gets onto the part.", at_least=0, at_most=100)
    source = of.text(required=True)


_Figures = of.Thing.from_dict(
    {name: of.number(at_least=0) for figures in FIGURES.values() for name in figures}, name="AmountFigures"
)


class Amount(_Figures):  # type: ignore[misc, valid-type]  # a class that is made of data
    material = of.name(required=True)
    shape = of.choice(*(shape.value for shape in Shape), about="What it is made into.", required=True)
    grade = of.choice(*P_GRADES, about="Of an abrasive other than the stage's.")
