"""What is said of limits, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from planning.emissions.model import Alternative, AssessedMix, Held
from rules.jurisdictions import Convention, Jurisdiction

CONVENTION = (
    "total: all volatile organic compounds of the coatings, cleaners and fillers whose quantity is reckoned, "
    "as made ready to use, losses too; water and exempt compounds are not taken out of the volume"
)
NOT_ASSESSED = (
    "Not assessed: no jurisdiction was given. Compare each product's stated content with the limit that is "
    "in force where you work."
)
_CLASS_NOT_PRODUCT = (
    "The contents are those of a class of material: compare each product's own data sheet with what is in "
    "force."
)
_IN_WORDS = {
    Convention.TOTAL.value: "in all",
    Convention.LESS_WATER.value: "less water",
    Convention.LESS_WATER_AND_EXEMPT.value: "less water and exempt compounds",
}


def verdict_in_words(held: Held, alternatives: Sequence[Alternative]) -> str:
    """One mix against its limit, and what there is instead where it is over."""
    limit = f"the limit of {held.limit_g_per_l:f} g/L for '{held.title}' ({held.jurisdiction})"
    if held.value_g_per_l is None:
        return f"Its content is not known: hold the product's own against {limit}."
    together = f", {' and '.join(held.weighed)} weighed together" if len(held.weighed) > 1 else ""
    value = f"{held.value_g_per_l:f} g/L {_IN_WORDS[held.convention]}{together}"
    if not held.over:
        return f"{value}: within {limit}."
    return f"{value}: over {limit}. {_instead(alternatives)}"


def _instead(alternatives: Sequence[Alternative]) -> str:
    if not alternatives:
        return "The pack knows no other class for it: ask the supplier for one that complies."
    return " ".join(_alternative(each) for each in alternatives)


def _alternative(alternative: Alternative) -> str:
    held = alternative.held
    if held.value_g_per_l is None:
        return f"{alternative.title} may do instead; its content is not known."
    value = f"{alternative.title} has {held.value_g_per_l:f} of {held.limit_g_per_l:f} g/L"
    if held.over:
        return f"{value}, over its limit too: ask the supplier for one that complies."
    return f"{value} and complies; the choice is the shop's."


def limits_in_words(mixes: Sequence[AssessedMix], chain: Sequence[Jurisdiction]) -> str:
    """What was held against which text, what is over, and what was not held at all."""
    if not chain:
        return NOT_ASSESSED
    told = ["Held against limits as published: " + "; ".join(each.edition for each in chain) + "."]
    over = [mix.title for mix in mixes if mix.held and mix.held.over]
    unknown = [mix.title for mix in mixes if mix.held and mix.held.over is None]
    free = [mix.title for mix in mixes if mix.held is None]
    told.append(f"Over: {', '.join(over)}." if over else "None is known to be over.")
    if unknown:
        told.append(f"Content not known: {', '.join(unknown)}.")
    if free:
        told.append(f"No limit here: {', '.join(free)}.")
    return " ".join([*told, _CLASS_NOT_PRODUCT])
