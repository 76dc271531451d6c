"""What the members of an identification mean."""

from __future__ import annotations

from marshmallow import fields

from rules.materials.identification.choosing import Stop
from schemas.answers import Answer, PackNamed, many, number, one, table, text, texts, truth
from schemas.catalogue_answer import CautionDeclared
from schemas.fields import about
from schemas.procedure.answer import DISPOSITIONS

SEEN = about(
    "A value; of a number that only rules read, the range inside which it makes no difference to them: an"
    " object with `at_least` and `below`, null where there is no bound.",
    type=["string", "number", "boolean", "object"],
)


class CandidateRanked(Answer):
    material = text("The symbol of the material in the substrate table.")
    name = text("What the material is called.")
    probability = number("How probable it is that the part is made of it.")
    evidence = texts("What speaks for it and what against it, piece by piece.")


class MaterialsAlike(Answer):
    materials = texts("Materials that need not be told apart, the likeliest first.")
    probability = number("How probable it is that the part is made of one of them.")
    disposition = text(
        "What is to be done with the part if so; null while no line item is known.",
        null=True,
        enum=[*DISPOSITIONS, None],
    )


class ValueHeld(Answer):
    value = fields.Raw(metadata=SEEN)
    probability = number("How probable it is that the material has it.")


class ResultPossible(Answer):
    result = text("The word to report.")
    meaning = text("What it looks like.")


class BenchTestProposed(Answer):
    test = text("The test's name.")
    question = text("What it asks.")
    how = texts("How it is done, step by step.")
    safety = text("How to stay unhurt.")
    results = many(ResultPossible, "The results that may be reported.")
    about = text(
        "What it is done for: `procedure`, `stages` or `disposition` of the line item, or a fact of the"
        " material."
    )
    expected_bits = number("How much it is expected to tell about that, in bits.")
    cautions = texts("Cautions it carries, by name in `cautions`.")


class BenchTestNeverDone(Answer):
    test = text("The test's name.")
    why = text("Why it is not to be done.")


class Stopped(Answer):
    reason = text("Why no test is proposed.", enum=[stop.value for stop in Stop])
    says = text("The same for people.")


class CostOfDoubt(Answer):
    against = text("The likeliest material, by whose procedure the cost is reckoned.")
    disposition = text("What is done with the part while the material is open.", enum=[*DISPOSITIONS])
    disposition_against = text("What is done with a part of the likeliest material.", enum=[*DISPOSITIONS])
    stages_added = texts("Stages that would be saved by knowing.")
    stages_left_out = texts("Stages that only knowing allows or asks for.")
    work_min = number("Hands-on time added by not knowing, at the median; negative: saved.")
    elapsed_min = number("Time from start to finish added by not knowing, at the median; negative: saved.")


class CautiousProcedure(Answer):
    material = text("The material to name in a line item while it is open.")
    says = text("What its procedure is like.")
    cost = one(CostOfDoubt, "What it costs to be unsure; null while no line item is known.", null=True)


class IdentificationAnswer(Answer):
    pack = one(PackNamed, "The rule pack that was drawn on.")
    part = text("The kind of part whose usual materials were taken as the start.")
    candidates = many(CandidateRanked, "Materials, the likeliest first; those below 0.05 % are left out.")
    groups = many(
        MaterialsAlike,
        "The candidates by what they mean for the procedure: of the line item, or, while none is known, by"
        " everything that rules can tell of a material. Those below 0.05 % are left out.",
    )
    procedure_differs = truth("Whether something that matters to the procedure is still open.")
    agreed = table(fields.Raw(metadata=SEEN), "Facts on which the candidates agree, by name.")
    open = table(
        fields.List(fields.Nested(ValueHeld)), "The other facts, each with its values, the likeliest first."
    )
    next_test = one(BenchTestProposed, "The test to do next; null: none.", null=True)
    stops = one(Stopped, "Why there is none; null where there is one.", null=True)
    cautious = one(
        CautiousProcedure,
        "What to go by while the procedure differs; null where it does not, or where the pack has no such"
        " procedure.",
        null=True,
    )
    never = many(BenchTestNeverDone, "Tests that are not to be done, and why.")
    cautions = many(
        CautionDeclared, "What can hurt the person who does the next test, or one never to be done."
    )
    notes = texts("How the marking was read.")
