"""Codes of what a proof over the whole fact domain finds."""

from rules.codes.code import Code

CODES = (
    Code(
        "R601",
        title="No disposition",
        why="For some facts no rule says repair, replace or refer, so the line item gets no answer.",
        mend="Add a rule for the facts of the example, or widen one.",
        example="- id: prepare\n  when: {radar_zone: false, surface_energy: low}",
        good="""\
- id: prepare
  when: {radar_zone: false}""",
    ),
    Code(
        "R602",
        title="Rules that disagree",
        why="For some facts two rules say different things of one fact, parameter or disposition.",
        mend="Tell their conditions apart, or let one override the other.",
        example="decide: {disposition: replace, reason: The crack is too long.}",
        good="""\
decide: {disposition: replace, reason: The crack is too long.}
overrides: [prepare]""",
    ),
    Code(
        "R603",
        title="Stages for a part that is referred",
        why="A part left to the vehicle maker's procedure must not get stages that somebody then does.",
        mend="Keep the rule from firing where the part is referred.",
        example="decide: {disposition: refer, reason: It is too long.}",
        good="decide: {disposition: replace, reason: The crack is too long.}",
    ),
    Code(
        "R604",
        title="A rule that never fires",
        why="No admissible facts satisfy its condition, so whoever wrote it is mistaken about something.",
        mend="Mend its condition, or delete it.",
        example="""\
  - id: promote-on-long-scratches
    when: {damage_type: scratch, damage_length_mm: {at_least: 10}}
    caution: [solvent-vapour]
    why: A scratch has no length here.
    source: invented""",
        good="""\
  - id: warn-of-long-cracks
    when: {damage_type: crack, damage_length_mm: {at_least: 10}}
    caution: [solvent-vapour]
    why: A crack has a length.
    source: invented""",
    ),
    Code(
        "R605",
        title="A rule swallowed by another",
        why="Wherever it fires, another says the same; changing it would change nothing.",
        mend="Delete it, or widen it.",
        example="""\
  - id: warn-again
    when: {surface_energy: low, radar_zone: false}
    caution: [solvent-vapour]
    why: The rule that promotes warns already.
    source: invented""",
        good="""\
  - id: warn-elsewhere
    when: {surface_energy: high, radar_zone: false}
    caution: [solvent-vapour]
    why: Here no other rule warns.
    source: invented""",
    ),
    Code(
        "R606",
        title="A stage that is never present",
        why="Every rule that requires it is kept from firing.",
        mend="Mend the rules that require it, or delete it.",
        example="when: {needs_promoter: true, damage_type: scratch, damage_length_mm: {at_least: 10}}",
        good="when: {needs_promoter: true, radar_zone: false}",
    ),
    Code(
        "R607",
        title="A caution that is never shown",
        why="What asks for it never comes about, so it warns nobody.",
        mend="Mend what asks for it, or delete it.",
        example="""\
cautions:
  - id: noise
    title: Noise
    signal: notice
    hazard: It harms the ears.
    protect: Ear plugs.
    first_measure: Stop.
    defer: Local codes prevail.
    source: invented
rules:
  - id: warn-of-noise
    when: {damage_type: scratch, damage_length_mm: {at_least: 10}}
    caution: [noise]
    why: A scratch has no length here.
    source: invented""",
        good="""\
cautions:
  - id: noise
    title: Noise
    signal: notice
    hazard: It harms the ears.
    protect: Ear plugs.
    first_measure: Stop.
    defer: Local codes prevail.
    source: invented
rules:
  - id: warn-of-noise
    when: {damage_type: crack}
    caution: [noise]
    why: Grinding is loud.
    source: invented""",
    ),
    Code(
        "R608",
        title="A window that may be impossible to keep",
        why="What may be done between its two ends, and the waits, can take longer than it stays open: for "
        "the largest job and in the coldest air that the facts allow.",
        mend="Widen the window, shorten what lies between, or let it be done before.",
        example="""\
  - id: wait-longer-on-long-cracks
    when: {damage_length_mm: {at_least: 300}}
    set: {adhesion-promoter.wait_min: 40}
    why: The window of the promoter closes after 30 minutes.
    source: invented""",
        good="""\
  - id: wait-longer-on-long-cracks
    when: {damage_length_mm: {at_least: 300}}
    set: {adhesion-promoter.wait_min: 25}
    why: The window of the promoter is open for 5 minutes more.
    source: invented""",
    ),
    Code(
        "R609",
        title="An assertion that fails",
        why="The pack itself says that this holds in every case, and here is one in which it does not.",
        mend="Mend the rules for the facts of the example, or the assertion.",
        example="""\
assertions:
  - id: long-cracks-are-not-primed
    when: {damage_length_mm: {at_least: 300}}
    never: {present: [prime]}
    why: Long cracks are not primed.
    source: invented""",
        good="""\
assertions:
  - id: what-is-referred-is-not-primed
    when: {radar_zone: true, damage_type: scratch}
    never: {present: [prime]}
    why: What is referred is not begun.
    source: invented""",
    ),
    Code(
        "R610",
        title="Unknown material less careful than a known one",
        why="Not knowing the material must never cost a warning.",
        mend="Let what asks for the caution ask for it where the material is unknown too.",
        example="""\
substrates:
  - symbol: unknown
    name: Unknown plastic
    properties: {surface_energy: low, bake_limit_c: 60}
    source: invented
rules:
  - id: warn-of-fumes
    when: {surface_energy: high}
    caution: [radar-limits]
    why: Who does not know the plastic is not warned.
    source: invented""",
        good="""\
substrates:
  - symbol: unknown
    name: Unknown plastic
    properties: {surface_energy: low, bake_limit_c: 60}
    source: invented
rules:
  - id: warn-of-fumes
    when: always
    caution: [radar-limits]
    why: Who does not know the plastic is warned like the others.
    source: invented""",
    ),
    Code(
        "R611",
        title="An assertion about nothing",
        why="No case is as it says in 'when' and 'where', so it proves nothing.",
        mend="Mend its condition.",
        example="""\
assertions:
  - id: speaks-of-nothing
    where: {present: [prime], absent: [solvent-clean]}
    always: {cautions: [solvent-vapour]}
    why: Whatever is primed is cleaned.
    source: invented""",
        good="""\
assertions:
  - id: what-is-primed-is-warned-of
    where: {present: [prime]}
    always: {cautions: [solvent-vapour]}
    why: Whatever is primed is cleaned.
    source: invented""",
    ),
)
