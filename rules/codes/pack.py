"""Codes of checks across a whole pack."""

from rules.codes.code import Code

CODES = (
    Code(
        "R201",
        title="Rules that read what they conclude",
        why="In a circle no rule can be evaluated before the others.",
        mend="Let one of the rules named read the facts behind the derived one.",
        example="when: {needs_promoter: false}",
        good="when: {surface_energy: low}",
    ),
    Code(
        "R202",
        title="Stages after one another in a circle",
        why="No order can satisfy it.",
        mend="Take one 'after' away.",
        example="after: [prime]",
        good="after: [solvent-clean]",
    ),
    Code(
        "R203",
        title="Rules that override one another in a circle",
        why="All of them give way, and none decides.",
        mend="Take one 'overrides' away.",
        example="overrides: [replace-long-cracks]",
        good="overrides: [prepare]",
    ),
    Code(
        "R204",
        title="A derived fact that nobody concludes",
        why="It always has its default; rules that read it are partly dead.",
        mend="Let a rule conclude it, or delete it.",
        example="caution: [radar-limits]  # where 'conclude' should stand",
        good="conclude: {needs_promoter: true}",
    ),
    Code(
        "R205",
        title="A derived fact that nobody reads",
        why="Concluding it changes no procedure.",
        mend="Let a rule read it, or delete it.",
        example="when: {surface_energy: low, radar_zone: false}",
        good="when: {needs_promoter: true, radar_zone: false}",
    ),
    Code(
        "R206",
        title="A stage that no rule requires",
        why="It never appears in a procedure.",
        mend="Let a rule require it, or delete it.",
        example="require: [prime]",
        good="require: [adhesion-promoter]",
    ),
    Code(
        "R207",
        title="A caution that nobody uses",
        why="It warns nobody.",
        mend="Let a stage or rule have it, or delete it.",
        example=(
            "  - {id: noise, title: Noise, signal: notice, hazard: It harms hearing, protect: Ear muffs,"
            " first_measure: Rest, defer: Local codes prevail, source: common practice}"
        ),
        good="cautions: [solvent-vapour]",
    ),
    Code(
        "R208",
        title="A material that nobody uses",
        why="It never appears in a list of materials.",
        mend="Let a stage use it, or delete it.",
        example="  - {id: putty, title: Putty, kind: filler, source: common practice}",
        good="materials: [primer]",
    ),
    Code(
        "R210",
        title="A window that leads backward",
        why="The stage it leads to never follows, so the window never holds.",
        mend="Take that stage out of 'to', or mend 'after'.",
        example="{to: [solvent-clean], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}",
        good="{to: [prime], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}",
    ),
    Code(
        "R211",
        title="A wait that outlasts its window",
        why="The window closes before the next stage may start.",
        mend="Shorten the wait, or widen the window.",
        example="wait: {minutes: 45}",
        good="wait: {minutes: 10}",
    ),
    Code(
        "R212",
        title="A missed window that sends forward",
        why="Going back to a stage that comes later is no way to mend anything.",
        mend="Name the stage itself or an earlier one.",
        example="{to: [prime], not_before_min: 10, not_after_min: 30, if_missed: prime}",
        good="{to: [prime], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}",
    ),
    Code(
        "R213",
        title="A word for two materials",
        why="A line item that uses it could mean either, and each has limits of its own.",
        mend="Leave the word to one of them.",
        example="aliases: [Polypropylene]",
        good="aliases: [ABS plastic]",
    ),
    Code(
        "R214",
        title="A place for two facts",
        why="One value in a line item would state both.",
        mend="Write another pointer.",
        example="given_as: /damage/type",
        good="given_as: /damage/length_mm",
    ),
    Code(
        "R215",
        title="Rules that always contradict each other",
        why="They fire together and set one thing differently.",
        mend="Let one override the other, or tell their conditions apart.",
        example="when: {radar_zone: false}",
        good="when: {radar_zone: true}",
    ),
    Code(
        "R216",
        title="A rule without effect",
        why="It changes no procedure.",
        mend="Add an effect, or delete it.",
        example="overrides: [prepare]",
        good="""\
decide: {disposition: replace, reason: The crack is too long.}
overrides: [prepare]""",
    ),
)
