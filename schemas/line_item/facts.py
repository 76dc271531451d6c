"""What a line item says to the rules: its facts, typed and complete."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rules.intake import CompleteFacts, FactFault, FactsRefused, complete
from rules.pack import Pack, Substrate
from rules.vocabulary import Fact, Origin
from schemas.faults import pointer
from schemas.line_item.body import ENVELOPE, SECTIONS, Body
from schemas.line_item.charges import faults_of_charges


def complete_facts(body: Body, pack: Pack, substrate: Substrate) -> CompleteFacts:
    """The typed facts of a line item. Raises FactsRefused with every fault of every section."""
    faults = tuple(_undeclared(body, pack))
    try:
        facts = complete(pack, substrate, facts_given(body, pack))
    except FactsRefused as refused:
        raise FactsRefused((*faults, *refused.faults)) from None
    if faults:
        raise FactsRefused(faults)
    return facts


def facts_given(body: Body, pack: Pack) -> dict[str, object]:
    """The facts that a line item states, by name, as stated.

    Where `/part/features` is given, every feature is stated true or false; otherwise none is.
    """
    stated = (
        (fact.name, _stated(body, fact.given_as))
        for fact in pack.vocabulary.from_origin(Origin.LINE_ITEM)
        if fact.given_as
    )
    return {name: value for name, value in stated if value is not None}


def facts_under(pack: Pack, at: str) -> dict[str, Fact]:
    """The facts that are stated directly under the JSON pointer `at`, by the name of the member there."""
    split = ((fact, (fact.given_as or "").rpartition("/")) for fact in pack.vocabulary)
    return {name: fact for fact, (parent, _, name) in split if parent == at}


def _stated(body: Body, place: str) -> object:
    """What stands at a JSON pointer; None where it, or anything above it, is left out.

    In a list of words, a word is true when it is there and false when it is not.
    """
    found: Any = body
    for token in place.split("/")[1:]:
        if isinstance(found, list):
            found = token in found
        else:
            found = found.get(token) if isinstance(found, dict) else None
    return found


def _undeclared(body: Body, pack: Pack) -> Iterator[FactFault]:
    """What a line item states that the pack has no word for."""
    for section in SECTIONS:
        known = (*ENVELOPE.get(section, ()), *facts_under(pack, f"/{section}"))
        yield from _foreign(f"/{section}", body.get(section), known, "is not a member here")
    features = tuple(facts_under(pack, "/part/features"))
    for position, feature in enumerate(body["part"].get("features") or ()):
        if feature not in features:
            place = pointer("/part/features", position)
            yield FactFault(feature, place, feature, "is not a feature", features)
    jurisdiction, known = body.get("jurisdiction"), tuple(pack.jurisdictions)
    if jurisdiction is not None and jurisdiction not in known:
        yield FactFault("jurisdiction", "/jurisdiction", jurisdiction, "is not a jurisdiction here", known)
    yield from faults_of_charges(body.get("rates"), pack)


def _foreign(at: str, members: Body | None, known: tuple[str, ...], detail: str) -> Iterator[FactFault]:
    for name, value in (members or {}).items():
        if name not in known:
            yield FactFault(name, pointer(at, name), value, detail, known)
