"""The same part bought new: the facts on which the rules decide how it is prepared and painted."""

from __future__ import annotations

from rules.conditions import Value, facts_read
from rules.intake import CompleteFacts, complete
from rules.pack import Pack, Substrate
from rules.vocabulary import Fact, Origin

CONDITION, NEW_PART = "condition", "replacement"
SUPPLIED_AS = "supplied_as"
SENSORS = ("radar_zone", "parking_sensor_zone")
"""Features of a part behind or in which a sensor sits that is calibrated after a new part was fitted."""

_WHOLE: dict[str, Value] = {CONDITION: NEW_PART, "damage_type": "none"}
_SPOTLESS: dict[str, Value] = {"previous_repair_failed": False}
_OF_THE_DAMAGE = "/damage/"


def speaks_of_new_parts(pack: Pack) -> bool:
    """Whether line items of the pack can state a new part without damage."""
    known = pack.vocabulary
    return all(name in known and value in known[name].values for name, value in _WHOLE.items())


def new_part_facts(
    pack: Pack, substrate: Substrate, facts: CompleteFacts, supplied_as: str | None
) -> CompleteFacts:
    """The facts of a sound new part in place of the damaged one; all else stays as it is.

    How it is supplied is what `supplied_as` says, or the cautious default of the pack. The pack
    `speaks_of_new_parts`.
    """
    given: dict[str, object] = {
        fact.name: facts.values[fact.name]
        for fact in pack.vocabulary.from_origin(Origin.LINE_ITEM)
        if _stays(fact)
    }
    given |= _WHOLE | {name: value for name, value in _SPOTLESS.items() if name in pack.vocabulary}
    if supplied_as is not None and SUPPLIED_AS in pack.vocabulary:
        given[SUPPLIED_AS] = supplied_as
    return complete(pack, substrate, given)


def _stays(fact: Fact) -> bool:
    """Whether a fact says the same of the new part: nothing of the damage, or of how the part came, does."""
    if (fact.given_as or "").startswith(_OF_THE_DAMAGE):
        return False
    return fact.applies_when is None or facts_read(fact.applies_when).isdisjoint(_WHOLE)
