"""A tiny complete pack, invented for tests, and ways to change it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

PACK = """\
pack:
  name: small
  version: 0.1.0
  title: A small invented pack
  effective_from: 2026-01-01
  effective_until: null
phases: [clean, prime]
resources: [bench, booth]
labour: [body, refinish]
"""

FACTS = """\
facts:
  damage_type:
    about: What is wrong with the part.
    kind: enumeration
    values:
      scratch: Not deep.
      crack: A break.
    given_as: /damage/type
  radar_zone:
    about: The damage lies in front of a radar sensor.
    kind: boolean
    given_as: /part/features/radar_zone
    default: false
  damage_length_mm:
    about: The longest extent of the damage.
    kind: number
    unit: mm
    minimum: 0
    maximum: 3000
    cut_points: [10, 300]
    given_as: /damage/length_mm
    applies_when: {damage_type: crack}
    otherwise: 0
  surface_energy:
    about: Class of the surface energy.
    kind: enumeration
    origin: substrate
    values: {low: Below 35 mN/m., high: The rest.}
  bake_limit_c:
    about: The highest temperature the part may reach.
    kind: number
    unit: degC
    minimum: 20
    maximum: 250
    cut_points: [60]
    origin: substrate
  needs_promoter:
    about: A coating does not hold unaided.
    kind: boolean
    origin: rules
    default: false
"""

SUBSTRATES = """\
substrates:
  - symbol: PP
    name: Polypropylene
    aliases: [polypropylene]
    properties: {surface_energy: low, bake_limit_c: 80}
    source: common practice
  - symbol: ABS
    name: Acrylonitrile-butadiene-styrene
    properties: {surface_energy: high, bake_limit_c: 70}
    figures:
      density_g_per_cm3: {low: 1.03, high: 1.07, evidence: from memory}
    source: common practice
"""

STAGES = """\
stages:
  - id: solvent-clean
    title: Clean with solvent
    phase: clean
    resource: bench
    labour: body
    instructions:
      - Wipe one way.
    work: {fixed_min: 5, per_m2_min: 4}
    materials: [solvent-cleaner]
    cautions: [solvent-vapour]
    source: common practice
  - id: adhesion-promoter
    title: Apply adhesion promoter
    phase: prime
    after: [solvent-clean]
    resource: booth
    labour: refinish
    instructions:
      - Apply {coats} coats.
    work: {fixed_min: 5, spread: 0.3}
    wait: {minutes: 10, at_c: 20, kinetics: evaporation, activation_kj_per_mol: 40, valid_c: [15, 35]}
    window: {to: [prime], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}
    parameters: {coats: 1}
    materials: [promoter]
    source: common practice
  - id: prime
    title: Prime
    phase: prime
    after: [adhesion-promoter, solvent-clean]
    resource: booth
    labour: refinish
    instructions:
      - Spray {coats} coats, flat off with {abrasive} and bake at no more than {limit_c} degrees.
    work: {fixed_min: 10, per_m2_min: 8}
    parameters: {coats: 2, abrasive: P320}
    from_substrate: {limit_c: bake_limit_c}
    materials: [primer]
    check: {method: Look along the surface., accept: It is even., otherwise: Prime again.}
    source: common practice
"""

CAUTIONS = """\
cautions:
  - id: solvent-vapour
    title: Vapour of solvents
    signal: warning
    hazard: It dulls and burns.
    protect: Air and a mask.
    first_measure: Fresh air.
    defer: The safety data sheet and local codes prevail.
    ghs: [H336]
    source: common practice
  - id: radar-limits
    title: A radar sensor sees through the part
    signal: notice
    hazard: A thick coat blinds it.
    protect: The limits of the vehicle maker.
    first_measure: Stop.
    defer: The procedure of the vehicle maker prevails.
    source: common practice
"""

MATERIALS = """\
materials:
  - {id: solvent-cleaner, title: Cleaner, kind: cleaner, use_ml_per_m2: 50, voc_g_per_l: 750, source: none}
  - {id: promoter, title: Adhesion promoter, kind: consumable, source: common practice}
  - id: primer
    title: Primer
    kind: coating
    film_um: 40
    volume_solids_pct: 45
    transfer_efficiency_pct: 50
    voc_g_per_l: 540
    source: from memory
"""

RULES = """\
rules:
  - id: low-energy-needs-promoter
    when: {surface_energy: low}
    conclude: {needs_promoter: true}
    why: Bare plastic needs it.
    source: common practice
  - id: promote
    when: {needs_promoter: true, radar_zone: false}
    require: [adhesion-promoter]
    set: {adhesion-promoter.coats: 2}
    caution: [solvent-vapour]
    why: A film does not wet a polyolefin unaided.
    source: common practice
  - id: prepare
    when: {radar_zone: false}
    require: [solvent-clean, prime]
    decide: {disposition: repair, reason: It can be repaired.}
    why: Everything is cleaned and primed.
    source: common practice
  - id: refer-radar
    when:
      radar_zone: true
    caution: [radar-limits]
    decide: {disposition: refer, reason: A radar sensor sees through it.}
    why: A coat changes what the sensor sees.
    source: common practice
  - id: replace-long-cracks
    when:
      damage_length_mm: {at_least: 300}
      any:
        - {radar_zone: false}
    decide: {disposition: replace, reason: The crack is too long.}
    overrides: [prepare]
    why: It would not hold.
    source: common practice
"""

CASES = """\
cases:
  - name: a scratched polypropylene part
    given: {material: PP, damage_type: scratch}
    expect:
      disposition: repair
      present: [adhesion-promoter]
      order: [solvent-clean, prime]
      parameters: {adhesion-promoter.coats: 2, prime.limit_c: 80}
      cautions: [solvent-vapour]
  - name: a scratched ABS part
    given: {material: abs, damage_type: scratch}
    expect:
      disposition: repair
      absent: [adhesion-promoter]
      parameters: {prime.coats: 2}
  - name: a part with a long crack
    given: {material: Polypropylene, damage_type: crack, damage_length_mm: 400}
    expect: {disposition: replace}
"""

SMALL: Mapping[str, str] = {
    "pack.yaml": PACK,
    "facts.yaml": FACTS,
    "substrates.yaml": SUBSTRATES,
    "stages.yaml": STAGES,
    "cautions.yaml": CAUTIONS,
    "materials.yaml": MATERIALS,
    "rules/refinish.yaml": RULES,
    "cases/small.yaml": CASES,
}

OVERLAY_HEADER = """\
pack:
  name: shop
  version: 1.0.0
  title: An invented shop
  effective_from: 2026-02-01
  extends: small
"""


def changed(file: str, old: str, new: str) -> dict[str, str]:
    """The small pack with one text, which stands in the file once, replaced by another."""
    assert SMALL[file].count(old) == 1, f"{old!r} does not stand once in {file}"
    return {**SMALL, file: SMALL[file].replace(old, new)}


def overlay(**files: str) -> list[Mapping[str, str]]:
    """The small pack with an overlay laid on; `amend="..."` becomes its file amend.yaml."""
    return [SMALL, {"pack.yaml": OVERLAY_HEADER, **{f"{name}.yaml": text for name, text in files.items()}}]


def written(files: Mapping[str, str], folder: Path) -> Path:
    """The folder, with the files in it."""
    for path, text in files.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
    return folder
