"""Codes of cases that fail."""

from rules.codes.code import Code

CODES = (
    Code(
        "R401",
        title="Another disposition",
        why="Repair, replace or refer is the first thing a procedure says.",
        mend="Mend the rule that the message names, or what the case expects.",
        example="disposition: replace",
        good="disposition: repair",
    ),
    Code(
        "R402",
        title="A stage is missing",
        why="A stage left out is work left undone.",
        mend="Let a rule require the stage for these facts, or mend what the case expects.",
        example="present: [adhesion-promoter]",
        good="present: [prime]",
    ),
    Code(
        "R403",
        title="A stage too many",
        why="The stage costs time and may do harm where it is not wanted.",
        mend="Narrow the rules that the message names, or mend what the case expects.",
        example="absent: [prime]",
        good="absent: [adhesion-promoter]",
    ),
    Code(
        "R404",
        title="Another order",
        why="Each stage rests on those before it.",
        mend="Mend 'after' in the stage catalogue, or what the case expects.",
        example="order: [prime, solvent-clean]",
        good="order: [solvent-clean, prime]",
    ),
    Code(
        "R405",
        title="Another parameter",
        why="Coats, grades and times are what the technician acts upon.",
        mend="Mend the rule or the catalogue value, or what the case expects.",
        example="parameters: {prime.coats: 3}",
        good="parameters: {prime.coats: 2}",
    ),
    Code(
        "R406",
        title="A caution is missing",
        why="The person would not be warned.",
        mend="Let a rule or a stage carry the caution, or mend what the case expects.",
        example="cautions: [radar-limits]",
        good="cautions: [solvent-vapour]",
    ),
    Code(
        "R407",
        title="The case's facts are refused",
        why="A line item with these facts would get no procedure at all.",
        mend="Give every fact that has no default, inside its range and where it applies.",
        example="given: {material: PP}",
        good="given: {material: PP, damage_type: scratch}",
    ),
    Code(
        "R408",
        title="No single answer",
        why="Rules contradict each other for these facts, or none decides.",
        mend="Let one rule override the other, or add the rule that is missing.",
        example="overrides: [promote]  # and not 'prepare', which decides otherwise",
        good="overrides: [prepare]",
    ),
    Code(
        "R409",
        title="A material that cannot be told",
        why="Without its row of the substrate table no rule can be read.",
        mend="Write a symbol, an alias or a marking that the table knows.",
        example="material: PPP",
        good="material: PP",
    ),
    Code(
        "R410",
        title="No case at all",
        why="A pack that nothing tests is not known to answer anything rightly.",
        mend="Add a case to cases/.",
        example="cases: []",
        good="""\
cases:
  - name: a scratched ABS part
    given: {material: ABS, damage_type: scratch}
    expect: {disposition: repair}""",
    ),
)
