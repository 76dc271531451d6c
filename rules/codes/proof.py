"""Codes of what a proof over the whole fact domain finds."""

from rules.codes.code import Code

CODES = (
    Code(
        "R601",
        title="No disposition",
        why="For some facts no rule says repair, replace or refer, so the line item gets no answer.",
        mend="Add a rule for the facts of the example, or widen one.",
        example="- id: prepare\n    when: {surface_energy: low}",
    ),
    Code(
        "R602",
        title="Rules that disagree",
        why="For some facts two rules say different things of one fact, parameter or disposition.",
        mend="Tell their conditions apart, or let one override the other.",
        example="decide: {disposition: replace, reason: The crack is too long.}",
    ),
    Code(
        "R603",
        title="Stages for a part that is referred",
        why="A part left to the vehicle maker's procedure must not get stages that somebody then does.",
        mend="Keep the rule from firing where the part is referred.",
        example="decide: {disposition: refer, reason: It is too long.}",
    ),
    Code(
        "R604",
        title="A rule that never fires",
        why="No admissible facts satisfy its condition, so whoever wrote it is mistaken about something.",
        mend="Mend its condition, or delete it.",
        example="when: {surface_energy: low, bake_limit_c: {at_least: 80}}",
    ),
    Code(
        "R605",
        title="A rule swallowed by another",
        why="Wherever it fires, another says the same; changing it would change nothing.",
        mend="Delete it, or widen it.",
        example="- {id: again, when: {surface_energy: low}, caution: [solvent-vapour]}",
    ),
    Code(
        "R606",
        title="A stage that is never present",
        why="Every rule that requires it is kept from firing.",
        mend="Mend the rules that require it, or delete it.",
        example="require: [sealer]",
    ),
    Code(
        "R607",
        title="A caution that is never shown",
        why="What asks for it never comes about, so it warns nobody.",
        mend="Mend what asks for it, or delete it.",
        example="caution: [noise]",
    ),
    Code(
        "R608",
        title="A window nobody can meet",
        why="What must be done between its two ends takes longer than it stays open.",
        mend="Widen the window, shorten what lies between, or let it be done before.",
        example="window: {to: [prime], not_before_min: 10, not_after_min: 12, if_missed: adhesion-promoter}",
    ),
    Code(
        "R609",
        title="An assertion that fails",
        why="The pack itself says that this holds in every case, and here is one in which it does not.",
        mend="Mend the rules for the facts of the example, or the assertion.",
        example="never: {present: [prime]}",
    ),
    Code(
        "R610",
        title="Unknown material less careful than a known one",
        why="Not knowing the material must never cost a warning.",
        mend="Let what asks for the caution ask for it where the material is unknown too.",
        example="caution: [styrene-fumes]",
    ),
    Code(
        "R611",
        title="An assertion about nothing",
        why="No case is as it says in 'when' and 'where', so it proves nothing.",
        mend="Mend its condition.",
        example="where: {present: [sealer], absent: [sealer]}",
    ),
)
