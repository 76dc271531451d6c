"""Codes of things that lack a member, have one too many, or have a value of the wrong type."""

from rules.codes.code import Code

CODES = (
    Code(
        "R101",
        title="An unknown member",
        why="A misspelt member would be ignored, and what it says with it.",
        mend="Correct the spelling, or take the member away.",
        example="resorce: bench",
        good="resource: bench",
    ),
    Code(
        "R102",
        title="A missing member",
        why="The thing cannot be used without it, and no value is guessed.",
        mend="Add the line.",
        example="work: {per_m2_min: 4}",
        good="work: {fixed_min: 5, per_m2_min: 4}",
    ),
    Code(
        "R103",
        title="A value of the wrong type",
        why='Nothing is converted: "2" is not 2, and the text true is not a truth value.',
        mend="Take the quotes away, or put them there, as the message says.",
        example='coats: "2"',
        good="coats: 2",
    ),
    Code(
        "R104",
        title="A malformed name",
        why=(
            "Names are small letters and digits with one kind of joint, so that one thing is called in one "
            "way only."
        ),
        mend="Write the name that the message proposes.",
        example="name: Small_Pack",
        good="name: small-pack",
    ),
    Code(
        "R105",
        title="Not one of the choices",
        why="The list of choices is closed.",
        mend="Write one of the choices named.",
        example="signal: alarm",
        good="signal: warning",
    ),
    Code(
        "R106",
        title="A number or date out of range",
        why="A negative time or half a coat has no meaning.",
        mend="Write a value inside the range named.",
        example="fixed_min: -5",
        good="fixed_min: 5",
    ),
    Code(
        "R107",
        title="A name that is declared twice",
        why="A reference to the name could mean either.",
        mend="Delete one, or give it another name.",
        example="name: a scratched polypropylene part",
        good="name: a scratched ABS part",
    ),
    Code(
        "R108",
        title="Something empty",
        why="An empty list, text or condition says nothing and is more often forgotten than meant.",
        mend="Fill it in, or leave it out.",
        example="when: {}",
        good="when: {surface_energy: low}",
    ),
    Code(
        "R109",
        title="Listed twice",
        why="The second mention adds nothing and may stand for another name that was meant.",
        mend="Take one away.",
        example="require: [adhesion-promoter, adhesion-promoter]",
        good="require: [adhesion-promoter]",
    ),
    Code(
        "R120",
        title="An unknown phase, resource or labour category",
        why="The lists in pack.yaml are closed; order and cost rest on them.",
        mend="Correct the spelling, or add the name to pack.yaml of the base pack.",
        example="phase: primer",
        good="phase: clean",
    ),
    Code(
        "R127",
        title="A range that runs backwards",
        why="No number is at least the larger and at most the smaller.",
        mend="Exchange the two.",
        example="{to: [prime], not_before_min: 40, not_after_min: 30, if_missed: adhesion-promoter}",
        good="{to: [prime], not_before_min: 30, not_after_min: 40, if_missed: adhesion-promoter}",
    ),
    Code(
        "R128",
        title="Not a P-grade",
        why=(
            "Coated abrasives are named by the P-grades of ISO 6344; other scales have the same numbers "
            "for other grains."
        ),
        mend="Write a grade of that standard, such as P180.",
        example="abrasive: P175",
        good="abrasive: P180",
    ),
    Code(
        "R129",
        title="A placeholder that names no parameter",
        why="The technician would read the braces instead of a value.",
        mend="List the parameter, correct its name, or take the braces out.",
        example="- Apply {coat} coats.",
        good="- Apply {coats} coats.",
    ),
    Code(
        "R133",
        title="A parameter that nothing uses",
        why="Setting it changes neither the planning nor what the technician reads.",
        mend="Name it in the instructions, or take it out.",
        example="{coats: 1, abrasive: P320, gun: small}",
        good="{coats: 1, abrasive: P320}",
    ),
    Code(
        "R137",
        title="A mix out of order",
        why=(
            "Components are written in the order in which they go in: base, additive, hardener, reducer. "
            "Flexible additive that meets reduced material does not spread evenly."
        ),
        mend="Put the component where its role has its turn.",
        example="""\
mix:
  - {id: base, title: Base, parts: 4, density_g_per_ml: 1.5, voc_g_per_l: 430, role: base}
  - {id: reducer, title: Reducer, parts: 1, density_g_per_ml: 0.87, voc_g_per_l: 870, role: reducer}
  - {id: hardener, title: Hardener, parts: 1, density_g_per_ml: 1, voc_g_per_l: 490, role: hardener}""",
        good="""\
mix:
  - {id: base, title: Base, parts: 4, density_g_per_ml: 1.5, voc_g_per_l: 430, role: base}
  - {id: hardener, title: Hardener, parts: 1, density_g_per_ml: 1, voc_g_per_l: 490, role: hardener}
  - {id: reducer, title: Reducer, parts: 1, density_g_per_ml: 0.87, voc_g_per_l: 870, role: reducer}""",
    ),
)
