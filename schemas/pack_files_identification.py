"""The tables by which a material is identified, member by member."""

from __future__ import annotations

from rules.pack import SUBSTRATE_FIGURES
from schemas import pack_files_fields as of
from schemas.pack_files_fields import ANY_NAME
from schemas.pack_files_shapes import WHEN


class Settings(of.Thing):
    agreement = of.number(required=True, at_least=0.5, at_most=0.999)
    worthwhile = of.number(required=True, at_least=0.001, at_most=0.5)
    marking_trust = of.number(required=True, at_least=0.5, at_most=0.999)
    source = of.text(required=True)


class NeverDone(of.Thing):
    test = of.name(required=True, form=of.SNAKE)
    why = of.text(required=True)
    cautions = of.names()


class BenchTest(of.Thing):
    id = of.name(required=True, form=of.SNAKE)
    question = of.text(required=True)
    how = of.list_of(of.text(required=True), required=True, least=1, unique=False)
    safety = of.text(required=True)
    cautions = of.names()
    not_on = of.names("Truth values of a line item on which it is not done.", form=of.SNAKE)
    results = of.MapOf(
        of.SNAKE,
        of.text(required=True),
        **of.told("Each result and what it looks like.", True, minProperties=2),
    )
    source = of.text(required=True)


class FigureRule(of.Thing):
    name = of.choice(*SUBSTRATE_FIGURES, required=True)
    cuts = of.list_of(of.number(required=True), "Ascending.", True, least=1)
    results = of.names("One more than cuts.", True, least=1, form=of.SNAKE)
    error = of.number(required=True, at_least=0.01, at_most=0.9)


class Likelihood(of.Thing):
    test = of.name(required=True, form=of.SNAKE)
    when = of.Shaped(WHEN, **of.told("For which materials; or name them in `substrates`."))
    substrates = of.texts()
    figure = of.part(FigureRule)
    likely = of.MapOf(
        of.SNAKE, of.number(required=True, at_least=0.005, at_most=0.995), **of.told("1 together.")
    )
    why = of.text(required=True)
    source = of.text(required=True)


class Prior(of.Thing):
    part = of.text(required=True)
    words = of.texts()
    weights = of.MapOf(
        ANY_NAME, of.number(required=True, at_least=0.001), **of.told("Relative to each other.", True)
    )
    others = of.number(required=True, at_least=0.001)
    not_done = of.names("Tests that are not done on such a part.", form=of.SNAKE)
    source = of.text(required=True)


class Identification(of.Thing):
    settings = of.part(Settings)
    never = of.list_of(of.part(NeverDone, required=True), unique=False)
    tests = of.list_of(of.part(BenchTest, required=True), unique=False)
    likelihoods = of.list_of(of.part(Likelihood, required=True), unique=False)
    priors = of.list_of(of.part(Prior, required=True), unique=False)
