"""Codes of YAML outside the careful subset."""

from rules.codes.code import Code

CODES = (
    Code(
        "R005",
        title="Not YAML",
        why="The file cannot be taken apart; nothing in it can be read.",
        mend="Indent with spaces, close every bracket and quote, and quote a text that holds ': ' or ' #'.",
        example="why: This holds: a colon",
        good='why: "This holds: a colon"',
    ),
    Code(
        "R006",
        title="A second document",
        why="A file is one document; what follows '---' would be overlooked.",
        mend="Put the second document into a file of its own.",
        example="cases: []\n---\ncases: []",
        good="cases: []",
    ),
    Code(
        "R007",
        title="An anchor or alias",
        why=(
            "What stands elsewhere cannot be seen where it holds, and a small file of aliases can grow "
            "without bound."
        ),
        mend="Write the values out where they hold.",
        example="given: &same {material: PP, damage_type: scratch}",
        good="given: {material: PP, damage_type: scratch}",
    ),
    Code(
        "R008",
        title="A tag or directive",
        why="Tags change the type of a value behind its spelling.",
        mend="Take the tag away; write numbers, true, false, null, or text in quotes.",
        example="title: !!str Clean with solvent",
        good="title: Clean with solvent",
    ),
    Code(
        "R009",
        title="A key that stands twice",
        why="Most readers keep one of the two in silence; which one, nobody sees.",
        mend="Keep one of them.",
        example="why: Bare plastic needs it.\nwhy: It does not.",
        good="why: Bare plastic needs it.",
    ),
    Code(
        "R010",
        title="Nested too deeply",
        why="No part of a pack needs more than 20 levels.",
        mend="Write it flatter.",
        example="when: " + "[" * 21 + "]" * 21,
        good="when: {surface_energy: low}",
    ),
    Code(
        "R011",
        title="A spelling that is not read alike by all",
        why=(
            "YAML 1.1 reads no as false, 12:30 as 750, 010 as 8 and an empty value as null; other readers "
            "do not."
        ),
        mend="Write true, false, null or a plain decimal number, or put the text in quotes.",
        example="radar_zone: no",
        good="radar_zone: false",
    ),
    Code(
        "R014",
        title="A number with too many digits",
        why="A number of more than 15 digits is not kept exactly.",
        mend="Round it, or put it in quotes when it is a text.",
        example="fixed_min: 3.1415926535897932",
        good="fixed_min: 3.14",
    ),
    Code(
        "R016",
        title="A key that is not a text",
        why="Members are found by name; a number, a truth value or a list before the colon is no name.",
        mend="Write a name, or put it in quotes.",
        example="12: Not deep.",
        good="scratch: Not deep.",
    ),
)
