"""One planted fault for every code of the proof: the registry's own example, put into the small pack."""

from __future__ import annotations

from planted_faults import MORE, PACK, REPLACE, RULES, STAGES, Planted

ASSERTIONS = "assertions.yaml"

OF_PROOF = (
    Planted(
        "R601",
        RULES,
        "- id: prepare\n    when: {radar_zone: false}",
        "pack:",
        "add a rule, or widen",
        found_in=PACK,
    ),
    Planted("R602", RULES, REPLACE, "id: prepare", "let one override the other"),
    Planted(
        "R603",
        RULES,
        "decide: {disposition: replace, reason: The crack is too long.}",
        "id: promote\n",
        "keep it from firing there",
    ),
    Planted("R604", RULES, "", "id: promote-on-long-scratches", "mend its condition, or delete it"),
    Planted("R605", RULES, "", "id: warn-again", "delete it, or widen it"),
    Planted(
        "R606",
        RULES,
        "when: {needs_promoter: true, radar_zone: false}",
        "id: adhesion-promoter",
        "mend the rules that require it",
        found_in=STAGES,
    ),
    Planted("R607", MORE, "", "id: noise", "mend what asks for it"),
    Planted(
        "R608", RULES, "", "id: adhesion-promoter", "widen it, shorten what lies between", found_in=STAGES
    ),
    Planted("R609", ASSERTIONS, "", "id: long-cracks-are-not-primed", "or the assertion"),
    Planted("R610", MORE, "", "symbol: unknown", "where the material is unknown too"),
    Planted("R611", ASSERTIONS, "", "id: speaks-of-nothing", "mend its 'when' or 'where'"),
)
COME_ALONG = {"R606": {"R604"}, "R607": {"R604"}}
"""A stage or caution that is never seen is asked for by rules that never fire."""
