"""One planted fault for every code of a text: the registry's own example, put into the small pack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tiny_pack import OVERLAY_HEADER, SMALL

from rules.codes import CODES

OVERLAY = {
    "pack.yaml": OVERLAY_HEADER,
    "amend.yaml": "amend:\n  stages:\n    prime: {title: Prime thinly}\n",
}


@dataclass(frozen=True)
class Planted:
    """The example of `code` takes the place of `old` in `file`, and the fault is found at the text `at`.

    Where `old` is empty, the example goes to the end of the file; with `beside`, `old` stays above it.
    `says`, the fix, stands in the message. `found_in` names the file of the finding where it is
    another. With `over`, the file belongs to an overlay.
    """

    code: str
    file: str
    old: str
    at: str
    says: str
    found_in: str = ""
    beside: bool = False
    over: bool = False

    @property
    def stack(self) -> list[Mapping[str, str]]:
        """The packs with the fault in them, lowest first."""
        return [SMALL, self._planted(OVERLAY)] if self.over else [self._planted(SMALL)]

    @property
    def position(self) -> tuple[str, int, int]:
        """File, line and column, from 1, at which `at` stands."""
        file = self.found_in or self.file
        text = self.stack[-1][file]
        assert text.count(self.at) == 1, f"{self.at!r} does not stand once in {file}"
        start = text.index(self.at)
        return file, text.count("\n", 0, start) + 1, start - text.rfind("\n", 0, start)

    def _planted(self, files: Mapping[str, str]) -> dict[str, str]:
        text, example = files.get(self.file, ""), CODES[self.code].example
        if not self.old:
            return {**files, self.file: text + example + "\n"}
        assert text.count(self.old) == 1, f"{self.old!r} does not stand once in {self.file}"
        start = text.index(self.old)
        new = f"{self.old}\n{example}" if self.beside else example
        indent = " " * (start - text.rfind("\n", 0, start) - 1)
        return {**files, self.file: text.replace(self.old, new.replace("\n", "\n" + indent))}


PACK, FACTS, STAGES, RULES = "pack.yaml", "facts.yaml", "stages.yaml", "rules/refinish.yaml"
CASES, MORE = "cases/small.yaml", "more.yaml"
WINDOW = "{to: [prime], not_before_min: 10, not_after_min: 30, if_missed: adhesion-promoter}"
WAIT = "wait: {minutes: 10, at_c: 20, kinetics: evaporation, activation_kj_per_mol: 40, valid_c: [15, 35]}"
ABS_CASE = "disposition: repair\n      absent: [adhesion-promoter]\n      parameters: {prime.coats: 2}"
SECOND_NAME = "name: a scratched polypropylene part\n    given: {material: abs"
PROPERTIES = "properties: {surface_energy: high, bake_limit_c: 70}"
REPLACE = "decide: {disposition: replace, reason: The crack is too long.}\n    overrides: [prepare]"

OF_FILES = (
    Planted("R004", STAGES, "title: Prime", '"Wash', "take it out"),
    Planted("R005", RULES, "why: Bare plastic needs it.", ": a colon", "put a text in quotes"),
    Planted("R006", MORE, "", "---", "into a file of its own"),
    Planted("R007", CASES, "given: {material: PP, damage_type: scratch}", "&same", "take it away"),
    Planted("R008", STAGES, "title: Clean with solvent", "!!str", "take it away"),
    Planted("R009", RULES, "why: Bare plastic needs it.", "why: It does not.", "keep one of them"),
    Planted("R010", RULES, "when: {surface_energy: low}", "[" * 4 + "]" * 21, "write it flatter"),
    Planted("R011", RULES, "radar_zone: true", "no\n    caution", "write false, or 'no' in quotes"),
    Planted("R012", RULES, "surface_energy: low", "surfaceenergy", "did you mean 'surface_energy'?"),
    Planted("R014", STAGES, "fixed_min: 10", "3.1415926535897932", "round it"),
    Planted("R015", MORE, "", "# nothing", "delete it"),
    Planted("R016", FACTS, "scratch: Not deep.", "12: Not deep", "'12' in quotes", beside=True),
    Planted("R017", MORE, "", "rulez", "did you mean 'rules'?"),
    Planted(
        "R019", PACK, "phases: [clean, prime]\nresources: [bench, booth]", "name: small", "add 'resources: "
    ),
)

OF_THINGS = (
    Planted("R101", STAGES, "resource: bench", "resorce", "did you mean 'resource'?"),
    Planted(
        "R102",
        STAGES,
        "work: {fixed_min: 5, per_m2_min: 4}",
        "{per_m2_min: 4}",
        "add the line 'fixed_min: ...'",
    ),
    Planted("R103", STAGES, "coats: 1", '"2"', "take the quotes away: 2"),
    Planted("R104", PACK, "name: small", "Small_Pack", "write 'small-pack'"),
    Planted("R105", "cautions.yaml", "signal: warning", "alarm", "known: danger, notice, warning"),
    Planted("R106", STAGES, "fixed_min: 10", "-5", "write a number of at least 0"),
    Planted("R107", CASES, "name: a scratched ABS part", SECOND_NAME, "keep one of them"),
    Planted("R108", RULES, "when: {surface_energy: low}", "{}", "when: always"),
    Planted("R109", RULES, "require: [adhesion-promoter]", "adhesion-promoter]", "take one away"),
    Planted("R120", STAGES, "phase: clean", "primer\n    resource", "did you mean 'prime'?"),
    Planted("R127", STAGES, WINDOW, "40, not_after", "exchange them"),
    Planted("R128", STAGES, "abrasive: P320", "P175", "did you mean 'P1"),
    Planted("R129", STAGES, "- Apply {coats} coats.", "Apply {coat}", "did you mean 'coats'?"),
    Planted("R130", FACTS, "given_as: /damage/type", "damage.type", "write one such as /damage/length_mm"),
    Planted("R133", STAGES, "{coats: 1}", "gun", "name it in the instructions as {gun}"),
    Planted("R137", "materials.yaml", "voc_g_per_l: 540", "{id: hardener", "the reducer; put it there"),
)

OF_REFERENCES = (
    Planted("R110", RULES, "surface_energy: low", "lo}", "did you mean 'low'?"),
    Planted("R111", RULES, "damage_length_mm: {at_least: 300}", "250", "one of its cut points 10, 300"),
    Planted("R112", RULES, "damage_length_mm: {at_least: 300}", "300\n", "write {at_least: ..., below: ...}"),
    Planted("R113", RULES, "damage_length_mm: {at_least: 300}", "{at_least: 300, below", "the smaller one"),
    Planted("R114", RULES, "radar_zone: true", "{at_least: 1}", "write a value"),
    Planted("R115", RULES, "conclude: {needs_promoter: true}", "radar_zone: true}", "take it away"),
    Planted("R116", RULES, "require: [adhesion-promoter]", "adhesion-promotor", "mean 'adhesion-promoter'?"),
    Planted("R117", RULES, "set: {adhesion-promoter.coats: 2}", "adhesion-promoter.coat:", "mean 'coats'?"),
    Planted("R118", RULES, "caution: [solvent-vapour]", "solvent-vapor", "did you mean 'solvent-vapour'?"),
    Planted("R119", STAGES, "materials: [solvent-cleaner]", "solvent-cleanser", "mean 'solvent-cleaner'?"),
    Planted("R121", RULES, "overrides: [prepare]", "prepar]", "did you mean 'prepare'?"),
    Planted("R122", "substrates.yaml", PROPERTIES, "{surface_energy: high}", "lacks bake_limit_c"),
    Planted(
        "R123", STAGES, "from_substrate: {limit_c: bake_limit_c}", "surface_energy}", "known: bake_limit_c"
    ),
    Planted(
        "R124",
        FACTS,
        "applies_when: {damage_type: crack}",
        "needs_promoter: true",
        "test a fact of the line item",
    ),
    Planted(
        "R125",
        FACTS,
        "applies_when: {damage_type: crack}\n    otherwise: 0",
        "{damage_type",
        "needs 'otherwise'",
    ),
    Planted("R126", FACTS, "cut_points: [10, 300]", "10]", "let cut points ascend"),
    Planted("R131", CASES, "expect: {disposition: replace}", "{}", "add 'disposition' or 'present'"),
    Planted("R134", RULES, "set: {adhesion-promoter.coats: 2}", "{prime.limit_c: 60}", "take it out"),
)

OF_OVERLAYS = (
    Planted("R132", MORE, "", "PPX", "did you mean 'PP'?", over=True),
    Planted("R135", MORE, "", "atlantis", "declare it first", over=True),
    Planted("R136", MORE, "", "always-repair", "declare it first", over=True),
    Planted("R140", PACK, "effective_until: null", "bass", "write 'extends: base'"),
    Planted("R141", MORE, "", "{id: solvent-vapour", "use 'amend: {cautions: ...}'", over=True),
    Planted(
        "R142",
        MORE,
        "",
        "facts",
        "known: cautions, jurisdictions, materials, policies, stages, substrates",
        over=True,
    ),
    Planted("R143", MORE, "", "prime", "put both into one", over=True),
    Planted("R144", MORE, "", "{rule: prepare", "delete the rule itself"),
)

OF_PACKS = (
    Planted(
        "R201",
        RULES,
        "when: {surface_energy: low}",
        "id: low-energy",
        "read the facts behind the derived one",
    ),
    Planted("R202", STAGES, "after: [solvent-clean]", "id: adhesion-promoter", "take one 'after' away"),
    Planted(
        "R203",
        RULES,
        "why: Everything is cleaned and primed.",
        "id: prepare",
        "take one 'overrides' away",
        beside=True,
    ),
    Planted(
        "R204",
        RULES,
        "conclude: {needs_promoter: true}",
        "needs_promoter",
        "let one, or delete it",
        found_in=FACTS,
    ),
    Planted(
        "R205",
        RULES,
        "when: {needs_promoter: true, radar_zone: false}",
        "needs_promoter",
        "let one, or delete it",
        found_in=FACTS,
    ),
    Planted(
        "R206",
        RULES,
        "require: [adhesion-promoter]",
        "id: adhesion-promoter",
        "let one, or delete it",
        found_in=STAGES,
    ),
    Planted("R207", "cautions.yaml", "", "{id: noise", "let one, or delete it"),
    Planted("R208", "materials.yaml", "", "{id: putty", "let one, or delete it"),
    Planted("R210", STAGES, WINDOW, "id: adhesion-promoter", "take it out of 'to'"),
    Planted("R211", STAGES, WAIT, "id: adhesion-promoter", "shorten the wait"),
    Planted("R212", STAGES, WINDOW, "id: adhesion-promoter", "name the stage itself or an earlier one"),
    Planted(
        "R213",
        "substrates.yaml",
        "name: Acrylonitrile-butadiene-styrene",
        "symbol: ABS",
        "leave it to one",
        beside=True,
    ),
    Planted("R214", FACTS, "given_as: /damage/length_mm", "damage_length_mm", "write another pointer"),
    Planted(
        "R215",
        RULES,
        "when:\n      radar_zone: true",
        "id: refer-radar",
        "let one of them override the other",
    ),
    Planted("R216", RULES, REPLACE, "id: replace-long-cracks", "add 'require', 'set' or another"),
)

OF_CASES = (
    Planted("R401", CASES, ABS_CASE, "disposition: replace\n", "mend the rule"),
    Planted("R402", CASES, ABS_CASE, "present: [adhesion-promoter]\n  -", "mend the rule"),
    Planted("R403", CASES, ABS_CASE, "absent: [prime]", "required by prepare"),
    Planted("R404", CASES, "order: [solvent-clean, prime]", "order:", "mend the rule"),
    Planted("R405", CASES, "parameters: {prime.coats: 2}", "parameters: {prime.coats: 3}", "mend the rule"),
    Planted(
        "R406",
        CASES,
        "parameters: {prime.coats: 2}",
        "cautions: [radar-limits]",
        "mend the rule",
        beside=True,
    ),
    Planted(
        "R407", CASES, "given: {material: PP, damage_type: scratch}", "name: a scratched poly", "mend 'given'"
    ),
    Planted(
        "R408",
        RULES,
        "overrides: [prepare]",
        "name: a part with a long crack",
        "mend the rules",
        found_in=CASES,
    ),
    Planted("R409", CASES, "material: PP", "name: a scratched poly", "write a symbol or an alias"),
    Planted("R410", CASES, SMALL[CASES].rstrip(), "pack:", "add one to cases/", found_in=PACK),
)
