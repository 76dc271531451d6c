"""What the members of answers about rule packs mean."""

from __future__ import annotations

from marshmallow import fields

from schemas.answers import Answer, PackNamed, many, moment, one, table, text, truth, whole
from schemas.explanation import PlaceInPack
from schemas.fields import about


class FindingMade(PlaceInPack):
    code = text("The kind of finding; `stagewright rules code CODE` tells about it.")
    message = text("What is wrong, the value read, and how to mend it.")


class PackLinks(Answer):
    self = text("The pack.", format="uri-reference")
    files = text("Its files.", format="uri-reference")
    proof = text("Its proof.", format="uri-reference")
    impact = text("What it would change.", format="uri-reference")


class PackListed(PackNamed):
    kept_at = moment("When it was kept first.")
    active = truth("Whether it is in force.")
    proven = fields.Boolean(
        allow_none=True, metadata=about("Whether its last proof passed; null: it was not proven yet.")
    )
    findings = many(FindingMade, "What checks find wrong with it; a pack with findings is never proven.")
    of_service = truth("Whether it is one of the service; others are the shop's own.")
    laid_on = text(
        "The `digest` of the pack of the service that the overlay of a shop is laid on; else null.",
        null=True,
    )
    links = one(PackLinks, "What belongs to it.")


class PackList(Answer):
    items = many(PackListed, "Kept packs, last kept first.")


class PackLayer(Answer):
    name = text("The name of the pack.")
    files = table(text("The text of a file."), "Texts by path.")


class PackFiles(Answer):
    pack = one(PackNamed, "The pack.")
    layers = many(PackLayer, "The packs that are laid on one another, lowest first.")


class WitnessGiven(Answer):
    in_words = text("The facts that matter, in one line.")
    line_item = fields.Dict(
        metadata=about("The same as the body of a request for a procedure.", type="object")
    )


class ProofFault(Answer):
    code = text("The kind of fault.")
    message = text("What is wrong, and how to mend it.")
    places = many(PlaceInPack, "Where the rules, stages or assertions concerned are written.")
    cells = whole("In how many combinations of facts; 0 where something never happens.")
    witness = one(WitnessGiven, "One of them; null where there is none.", null=True)


class EngineDifference(Answer):
    engine = text("Which evaluator says something else than the reference.")
    facts = fields.Dict(metadata=about("Facts on which it does.", type="object"))
    reference = text("What the reference says.")
    said = text("What this one says.")


class EngineAgreement(Answer):
    engine = text("The engine that serves line items.")
    cells = whole("How many combinations of facts were tried: drawn at random, and those of the cases.")
    differences = many(EngineDifference, "Where the evaluators disagree; the first few.")


class ProofAnswer(Answer):
    pack = one(PackNamed, "The pack that was proven.")
    proven_at = moment("When.")
    passed = truth("Whether nothing at all was found; only then can the pack be put in force.")
    failure = text("Why the proof did not come to its end; null where it did.", null=True)
    cells = whole("Over how many combinations of facts.")
    rules = whole("How many rules.")
    assertions = whole("How many assertions were held against all of them.")
    cases = whole("How many cases were run.")
    findings = many(FindingMade, "What checks and cases found.")
    faults = many(ProofFault, "What the proof found.")
    agreement = one(
        EngineAgreement, "Whether all evaluators agree; null where it did not get there.", null=True
    )


class ActivationGiven(Answer):
    number = whole("Counts the decisions of whoever took it; a higher one prevails over a lower one.")
    follows_service = truth("Whether the shop has none of its own by it, and works by that of the service.")
    pack = one(PackNamed, "The pack.")
    effective_from = moment("From when on it is in force.")
    activated_at = moment("When that was decided.")
    origin = text("Who decided.", enum=["api", "folder", "start"])


class LaidOn(Answer):
    pack = one(PackNamed, "The pack of the service that the shop's overlay is laid on.")
    service = one(PackNamed, "The pack that the service has in force.")
    behind = truth(
        "Whether these two differ: the service has put another pack in force since. POST"
        " /v1/packs/{digest}/renewal lays the overlay on that one."
    )


class ActiveAnswer(ActivationGiven):
    as_of = moment("The moment that was asked about; null: now.", null=True)
    previous = one(ActivationGiven, "What `rollback` goes back to; null where there is nothing.", null=True)
    upcoming = many(ActivationGiven, "What will take force later, unless decided otherwise; first first.")
    laid_on = one(
        LaidOn, "What the shop's own pack is laid on; null where it works by that of the service.", null=True
    )
