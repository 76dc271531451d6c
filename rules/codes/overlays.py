"""Codes of overlays and the packs below them."""

from rules.codes.code import Code

CODES = (
    Code(
        "R132",
        title="An unknown substrate",
        why="An overlay amends rows that are there.",
        mend="Correct the symbol, or add a row of your own under 'substrates'.",
        example="amend:\n  substrates:\n    PPX: {name: Polypropylene}",
        good="""\
amend:
  substrates:
    PP: {name: Polypropylene}""",
    ),
    Code(
        "R140",
        title="Laid on the wrong pack",
        why="What an overlay changes has a meaning only over the pack it was written for.",
        mend="Name the pack below in 'extends', and call no two packs alike.",
        example="extends: bass",
        good="extends: small",
    ),
    Code(
        "R141",
        title="A name that the pack below has already",
        why="A second thing of the name would hide the first one without saying what changes.",
        mend="Use 'amend' to change it, withdraw a rule, or find another name.",
        example=(
            "cautions:\n"
            "  - {id: solvent-vapour, title: Vapour, signal: notice, hazard: Vapour, protect:"
            " Mask, first_measure: Fresh air, defer: Local codes, source: none}"
        ),
        good="""\
amend:
  cautions:
    solvent-vapour: {title: Vapour}""",
    ),
    Code(
        "R142",
        title="Something that an overlay cannot change",
        why="Facts, names and the closed lists are what proofs and callers rely on.",
        mend="Amend what rules/README.md names alone; withdraw rules and write new ones.",
        example="amend:\n  facts:\n    radar_zone: {default: true}",
        good="""\
amend:
  cautions:
    radar-limits: {signal: warning}""",
    ),
    Code(
        "R143",
        title="Changed twice",
        why="Which of two changes holds would hang on the order of the files.",
        mend="Put both into one block.",
        example="amend:\n  stages:\n    prime: {title: Prime once more}",
        good="""\
amend:
  stages:
    solvent-clean: {title: Clean once more}""",
    ),
    Code(
        "R144",
        title="A change without a pack below",
        why="A base pack has nothing to amend or withdraw.",
        mend="Change the thing where it stands, or say in pack.yaml what is extended.",
        example="withdraw:\n  - {rule: prepare, why: Not here.}",
        good="""\
withdraw:  # in a pack that extends another
  - {rule: prepare, why: Not here.}""",
    ),
)
