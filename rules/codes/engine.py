"""Codes of what the rules engine cannot take."""

from rules.codes.code import Code

CODES = (
    Code(
        "R301",
        title="Too many rules",
        why="Every evaluation carries all rules along; far above 1,000 the engine fails.",
        mend="Split the pack, or join rules with 'any'.",
        example="1,001 rules",
        good="1,000 rules",
    ),
    Code(
        "R302",
        title="Too many combinations in one rule",
        why="The engine fires a rule once for every combination of alternatives that holds.",
        mend="Give each block of an 'any', or each side of a range, a rule of its own.",
        example="a rule by which each of six numbers lies outside a range: 64 combinations",
        good="a rule by which each of five numbers lies outside a range: 32 combinations",
    ),
    Code(
        "R303",
        title="A rule of too many parts",
        why="The engine's table for the parts of one rule is bounded.",
        mend="Conclude a derived fact from one half of the condition and test that.",
        example="a rule with thirteen blocks under 'any'",
        good="a rule with eleven blocks under 'any'",
    ),
    Code(
        "R304",
        title="Too many tests in one rule",
        why=(
            "The engine hangs on a rule with hundreds of different tests; a member of a list counts as one."
        ),
        mend="Name the members that are left out (not), or split the rule.",
        example="a rule that lists 300 members",
        good="a rule that names the one member that is left out: {not: ...}",
    ),
    Code(
        "R305",
        title="Too many passes",
        why="Rules are evaluated in passes, layer by layer; each costs time in every request.",
        mend="Shorten the chains of derived facts, or lessen the alternatives under 'any'.",
        example="a chain of 300 derived facts",
        good="a chain of ten derived facts",
    ),
)
