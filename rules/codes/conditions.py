"""Codes of facts and of the conditions that read them."""

from rules.codes.code import Code

CODES = (
    Code(
        "R012",
        title="An unknown fact",
        why="The vocabulary is closed; a rule that reads a fact nobody states would never fire.",
        mend="Correct the spelling, or declare the fact.",
        example="surfaceenergy: low",
        good="surface_energy: low",
    ),
    Code(
        "R110",
        title="A value that the fact cannot have",
        why="A test for it would never hold.",
        mend="Write one of the values that the fact declares.",
        example="surface_energy: lo",
        good="surface_energy: low",
    ),
    Code(
        "R111",
        title="A number that is not a cut point",
        why=(
            "Only the declared cut points divide a number; with others the pack could not be proved for "
            "every case."
        ),
        mend="Use a cut point that the message lists, or declare the number as one.",
        example="damage_length_mm: {at_least: 250}",
        good="damage_length_mm: {at_least: 300}",
    ),
    Code(
        "R112",
        title="A number that is tested for equality",
        why="A measured number is never exactly 300.",
        mend="Write at_least and below with cut points.",
        example="damage_length_mm: 300",
        good="damage_length_mm: {at_least: 300}",
    ),
    Code(
        "R113",
        title="Bounds between which nothing lies",
        why="The test never holds.",
        mend="Let at_least be the smaller of the two.",
        example="damage_length_mm: {at_least: 300, below: 10}",
        good="damage_length_mm: {at_least: 300}",
    ),
    Code(
        "R114",
        title="Bounds on something that is no number",
        why="Words and truth values have no order.",
        mend="Write the value, a list of values, or {not: ...}.",
        example="radar_zone: {at_least: 1}",
        good="radar_zone: true",
    ),
    Code(
        "R115",
        title="A fact of another origin",
        why=(
            "Line items, the substrate table and rules each state their own facts; none may overrule another."
        ),
        mend="Take the fact away, or change its origin where it is declared.",
        example="conclude: {radar_zone: true}",
        good="conclude: {needs_promoter: true}",
    ),
    Code(
        "R124",
        title="A condition on a fact that may not apply",
        why="Whether a fact applies must be known before any rule is read, without going in circles.",
        mend="Test facts of the line item or the substrate that always apply.",
        example="applies_when: {needs_promoter: true}",
        good="applies_when: {damage_type: crack}",
    ),
    Code(
        "R125",
        title="Members that do not fit the fact's origin",
        why=(
            "A fact of a line item needs a place there, a derived one a value for when no rule concludes "
            "it, and one that may not apply a value for that case."
        ),
        mend="Add or take away what the message names.",
        example="applies_when: {damage_type: crack}  # and no 'otherwise' beside it",
        good="""\
applies_when: {damage_type: crack}
otherwise: 0""",
    ),
    Code(
        "R126",
        title="A cut point that cuts nothing off",
        why="Cut points ascend inside the range; another one makes an interval in which nothing lies.",
        mend="Let them ascend, above the minimum and up to the maximum.",
        example="cut_points: [300, 10]",
        good="cut_points: [10, 300]",
    ),
    Code(
        "R130",
        title="No JSON pointer",
        why="The pointer says where in a line item the fact is given (RFC 6901).",
        mend="Write one such as /damage/length_mm.",
        example="given_as: damage.type",
        good="given_as: /damage/type",
    ),
)
