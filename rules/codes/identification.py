"""Codes of the tables by which a material is identified."""

from rules.codes.code import Code

CODES = (
    Code(
        "R501",
        title="No way to identify a material",
        why="Without settings no evidence can be weighed.",
        mend="Write 'identification:' with 'settings:' into identification.yaml.",
        example="identification: {tests: []}",
        good="""\
identification:
  settings: {agreement: 0.95, worthwhile: 0.03, marking_trust: 0.97, source: common practice}""",
    ),
    Code(
        "R502",
        title="Not exactly one likelihood",
        why="What a test tells of a material must be said once, or its result can't be weighed.",
        mend="Let exactly one 'when' hold for the material, or name it in exactly one likelihood.",
        example="when: {surface_energy: low}",
        good="when: {surface_energy: {not: low}}",
    ),
    Code(
        "R503",
        title="Probabilities that do not fit the test",
        why="Every result has a probability, and one of them happens: together they make 1.",
        mend="Give every result a probability, 1 together; give a figure one result more than cuts.",
        example="likely: {floats: 0.9, sinks: 0.2}",
        good="likely: {floats: 0.9, sinks: 0.1}",
    ),
    Code(
        "R504",
        title="A figure that is not there",
        why="A result that follows from a figure can't be told for a material without it.",
        mend="Add the figure to the row of the substrate table, or name the material in a likelihood.",
        example="name: melting_c",
        good="name: density_g_per_cm3",
    ),
    Code(
        "R505",
        title="An unknown test",
        why="What is said of it would never be used.",
        mend="Write the id of a test, or declare the test.",
        example="test: flaot",
        good="test: float",
    ),
    Code(
        "R506",
        title="An unknown result",
        why="Nobody can report it, so its probability would be lost.",
        mend="Write a result that the test declares.",
        example="likely: {floats: 0.9, sinks: 0.1, drowns: 0.1}",
        good="likely: {floats: 0.9, sinks: 0.1}",
    ),
    Code(
        "R507",
        title="Not exactly one prior for any part",
        why="A part that no prior names still needs a place to start from.",
        mend="Leave exactly one prior, 'any part', without 'words'.",
        example="part: anything",
        good="part: any part",
    ),
    Code(
        "R508",
        title="A test that is never done",
        why="It can hurt the person who does it; 'never' says how.",
        mend="Take the test away.",
        example="id: burn",
        good="id: warm_air",
    ),
)
