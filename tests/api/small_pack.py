"""A small rule pack on disk, for the command line."""

from pathlib import Path

SMALL_PACK = {
    "pack.yaml": """\
pack: {name: small, version: 1.0.0, title: A small pack, effective_from: 2026-01-01, effective_until: null}
phases: [clean, prime]
resources: [bench]
labour: [refinish]
""",
    "facts.yaml": """\
facts:
  damage_type:
    about: What is wrong with the part.
    kind: enumeration
    values: {scratch: Not deep., crack: A break.}
    given_as: /damage/type
  airbag_cover:
    about: The part covers an airbag.
    kind: boolean
    given_as: /part/features/airbag_cover
    default: false
  surface_energy:
    about: Class of the surface energy.
    kind: enumeration
    origin: substrate
    values: {low: Below 35 mN/m., high: Above 40 mN/m.}
""",
    "substrates.yaml": """\
substrates:
  - symbol: PP
    name: Polypropylene
    aliases: [polypropylene]
    properties: {surface_energy: low}
    source: common practice
  - symbol: ABS
    name: Acrylonitrile butadiene styrene
    properties: {surface_energy: high}
    source: common practice
""",
    "stages.yaml": """\
stages:
  - id: wash
    title: Wash the part
    phase: clean
    resource: bench
    labour: refinish
    instructions: [Wash it.]
    work: {fixed_min: 5}
    source: common practice
  - id: adhesion-promoter
    title: Apply adhesion promoter
    phase: prime
    after: [wash]
    resource: bench
    labour: refinish
    instructions: ["Apply {coats} coats."]
    work: {fixed_min: 5}
    parameters: {coats: 1}
    materials: [adhesion-promoter]
    cautions: [solvent-vapour]
    source: common practice
""",
    "cautions.yaml": """\
cautions:
  - id: solvent-vapour
    title: Solvent vapour
    signal: warning
    hazard: It burns and it makes drowsy.
    protect: Air, gloves, a mask.
    first_measure: Fresh air.
    defer: The safety data sheet, local codes and licensed practice prevail.
    source: common practice
""",
    "materials.yaml": """\
materials:
  - {id: adhesion-promoter, title: Adhesion promoter, kind: consumable, source: common practice}
""",
    "rules/all.yaml": """\
rules:
  - id: repair-what-is-safe
    when: {airbag_cover: false}
    require: [wash]
    decide: {disposition: repair, reason: The part can be repaired.}
    why: Nothing speaks against it.
    source: common practice
  - id: refer-airbag-covers
    when: {airbag_cover: true}
    decide: {disposition: refer, reason: The part covers an airbag.}
    why: A changed cover may not open as it was made to.
    source: common practice
  - id: promote-low-energy-plastics
    when: {surface_energy: low, airbag_cover: false}
    require: [adhesion-promoter]
    set: {adhesion-promoter.coats: 2}
    caution: [solvent-vapour]
    why: A film-former does not wet a polyolefin unaided.
    source: common practice
""",
    "cases/all.yaml": """\
cases:
  - name: a scratched polypropylene part
    given: {material: PP, damage_type: scratch}
    expect: {disposition: repair, order: [wash, adhesion-promoter], parameters: {adhesion-promoter.coats: 2}}
""",
}


def small_pack(folder: Path, **changed: str | None) -> Path:
    """The pack in `folder`; `changed` gives other texts by the stem of the file, None leaves it out."""
    for name, text in SMALL_PACK.items():
        written = changed.get(name.split(".")[0].split("/")[0], text)
        if written is not None:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(written, encoding="utf-8")
    return folder
