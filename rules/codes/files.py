"""Codes of files that cannot be read at all."""

from rules.codes.code import Code

CODES = (
    Code(
        "R001",
        title="No pack here",
        why=(
            "A pack is a folder with a readable pack.yaml in it; without that nobody knows which pack it is."
        ),
        mend="Name the folder that holds pack.yaml, or add pack.yaml to it.",
        example="a folder without pack.yaml",
        good="a folder with pack.yaml in it",
    ),
    Code(
        "R002",
        title="Too large",
        why=(
            "A file has at most 512 KiB, a pack at most 4 MiB in 200 files with 2,000 things of a kind, so "
            "that one upload cannot stop the service."
        ),
        mend="Split the file, or take out what no rule needs.",
        example="rules/all.yaml with 600 KiB",
        good="rules/paint.yaml and rules/prime.yaml with 300 KiB each",
    ),
    Code(
        "R003",
        title="A link that leads out of the folder",
        why=(
            "What a pack says must be in the pack; a link would bring in files that its digest does not "
            "cover."
        ),
        mend="Put a copy of the file into the folder.",
        example="rules/shared.yaml -> ../../elsewhere/shared.yaml",
        good="rules/shared.yaml, itself a file of the folder",
    ),
    Code(
        "R004",
        title="A character that cannot be seen",
        why=(
            "Control characters, hidden direction marks and bytes that are not UTF-8 make a line read "
            "differently from how it looks."
        ),
        mend="Save the file as UTF-8 and take the character out.",
        example='title: "Wash\\u0007"',
        good="title: Wash",
    ),
    Code(
        "R013",
        title="A file name that is not read",
        why=(
            "A file called .yml or with signs in its name would be passed over in silence, and its rules "
            "with it."
        ),
        mend="Use letters, digits, '-' and '_', and end the name in .yaml.",
        example="rules/paint.yml",
        good="rules/paint.yaml",
    ),
    Code(
        "R015",
        title="An empty file",
        why="A file that holds nothing is more often a lost one than a meant one.",
        mend="Write a key such as 'rules:' into it, or delete it.",
        example="# nothing but this remark",
        good="cases: []",
    ),
    Code(
        "R017",
        title="A key in the wrong place",
        why=(
            "A file holds known kinds of things under known keys; anything else would be lost without a word."
        ),
        mend="Correct the key, or move the block into pack.yaml where it says who the pack is.",
        example="rulez: []",
        good="rules: []",
    ),
    Code(
        "R018",
        title="Too many findings",
        why="After 500 findings another one helps nobody.",
        mend="Mend the first ones and check again.",
        example="a file in which every line is at fault",
        good="a file whose first faults were mended before it is checked again",
    ),
    Code(
        "R019",
        title="A pack without something it needs",
        why=(
            "A base pack needs its header, its closed lists, and at least one thing of each kind; with "
            "less no procedure can be made."
        ),
        mend="Add what is named.",
        example="phases: [clean, prime]",
        good="""\
phases: [clean, prime]
resources: [bench, booth]""",
    ),
)
