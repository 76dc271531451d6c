"""Codes of references from rules, stages, substrates and cases."""

from rules.codes.code import Code

CODES = (
    Code(
        "R116",
        title="An unknown stage",
        why="A procedure cannot hold a stage that the catalogue does not have.",
        mend="Correct the spelling, or add the stage to the catalogue.",
        example="require: [adhesion-promotor]",
        good="require: [adhesion-promoter]",
    ),
    Code(
        "R117",
        title="An unknown parameter",
        why="Setting it would change nothing.",
        mend="Write stage.parameter with a parameter that the stage has.",
        example="set: {adhesion-promoter.coat: 2}",
        good="set: {adhesion-promoter.coats: 2}",
    ),
    Code(
        "R118",
        title="An unknown caution",
        why="The person at the bench would not be warned.",
        mend="Correct the spelling, or add the caution.",
        example="caution: [solvent-vapor]",
        good="caution: [solvent-vapour]",
    ),
    Code(
        "R119",
        title="An unknown material",
        why="Neither quantity nor emission could be reckoned.",
        mend="Correct the spelling, or add the material.",
        example="materials: [solvent-cleanser]",
        good="materials: [solvent-cleaner]",
    ),
    Code(
        "R121",
        title="An unknown rule",
        why="What is to be overridden or withdrawn is not there, or is called otherwise.",
        mend="Correct the id.",
        example="overrides: [prepar]",
        good="overrides: [prepare]",
    ),
    Code(
        "R122",
        title="A substrate without a property",
        why="Rules read every substrate fact of every material; a gap has no safe value.",
        mend="State the property.",
        example="properties: {surface_energy: high}",
        good="properties: {surface_energy: high, bake_limit_c: 70}",
    ),
    Code(
        "R123",
        title="A parameter fixed by something that is no substrate number",
        why=(
            "The parameter takes its value from the row of the material; only a number of that table can "
            "give one."
        ),
        mend="Name a number fact whose origin is the substrate.",
        example="from_substrate: {limit_c: surface_energy}",
        good="from_substrate: {limit_c: bake_limit_c}",
    ),
    Code(
        "R131",
        title="A case that cannot fail, or cannot pass",
        why="A case without an expectation proves nothing; one that contradicts itself never passes.",
        mend="Say what is expected.",
        example="expect: {}",
        good="expect: {disposition: replace}",
    ),
    Code(
        "R134",
        title="A parameter that the substrate fixes",
        why="The limits of the material go before what any rule sets; the rule would have no effect.",
        mend="Take the parameter out of the rule.",
        example="set: {prime.limit_c: 60}",
        good="set: {adhesion-promoter.coats: 2}",
    ),
    Code(
        "R135",
        title="An unknown jurisdiction",
        why="What lies within another, or changes another, means nothing where that one is not.",
        mend="Correct the spelling; name one that itself lies within no other.",
        example="""\
amend:
  jurisdictions:
    atlantis: {title: Atlantis}""",
        good="""\
jurisdictions:
  - id: atlantis
    title: Atlantis
    edition: invented
    convention: less_water
    categories:
      - {id: primer, title: Primer, roles: [primer_surfacer], limit_g_per_l: 540, evidence: invented}
    over_limit: [solvent-vapour]
    source: invented""",
    ),
    Code(
        "R136",
        title="An unknown policy",
        why="What is to be changed or withdrawn is not there, or is called otherwise.",
        mend="Correct the spelling, or write a policy of your own under 'policies'.",
        example="""\
amend:
  policies:
    always-repair: {minimum_probability_pct: 20}""",
        good="""\
policies:
  - id: always-repair
    minimum_probability_pct: 20
    why: Invented.
    source: invented""",
    ),
)
