"""The JSON Schemas of pack files: shipped as generated, and of one mind with the loader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from pack_file_values import Rows, described, resolved, value_of

from rules.authoring.formatting.order import FILE, ListOf, MapOf, Shape
from rules.authoring.formatting.order import Row as OrderOf
from rules.loading import BASE_PACK, check_folder, read_folder
from rules.loading.composing import compose
from rules.loading.report import Report
from schemas.pack_files_published import ANY_KIND, KINDS, published_schemas

SHIPPED = BASE_PACK.parent / "schemas"
OVERLAY = BASE_PACK.parent / "example-overlay"
SCHEMAS = {name.removesuffix(".json"): json.loads(text) for name, text in published_schemas().items()}
FILES = [(folder, path) for folder in (BASE_PACK, OVERLAY) for path in read_folder(folder)]


def faults(kind: str, text: str) -> list[str]:
    return [error.message for error in Draft202012Validator(SCHEMAS[kind]).iter_errors(value_of(text))]


def kind_of(path: str, text: str) -> str:
    """The schema for a file of its place; a file with several kinds of things has that of any."""
    stem = path.split("/")[0].removesuffix(".yaml")
    kind = stem if stem in KINDS else "changes"
    return kind if set(value_of(text)) <= set(KINDS[kind]) else ANY_KIND


def test_the_shipped_schemas_are_those_that_the_code_generates() -> None:
    shipped = {path.name: path.read_text(encoding="utf-8") for path in SHIPPED.iterdir()}
    assert shipped == published_schemas(), "run 'stagewright rules schemas'"


@pytest.mark.parametrize("kind", SCHEMAS)
def test_a_schema_is_a_schema_and_stands_alone(kind: str) -> None:
    Draft202012Validator.check_schema(SCHEMAS[kind])
    references = {part.split('"')[0] for part in json.dumps(SCHEMAS[kind]).split('"#/$defs/')[1:]}
    assert references == SCHEMAS[kind]["$defs"].keys()


@pytest.mark.parametrize(
    ("folder", "path"), FILES, ids=lambda part: part if isinstance(part, str) else part.name
)
def test_every_file_of_the_packs_of_the_service_is_valid(folder: Path, path: str) -> None:
    text = read_folder(folder)[path]
    assert faults(kind_of(path, text), text) == []
    assert faults(ANY_KIND, text) == []


def test_each_kind_of_thing_has_a_schema() -> None:
    assert {key for keys in KINDS.values() for key in keys} == SCHEMAS[ANY_KIND]["properties"].keys()


SOUND = {
    "pack": "pack: {name: a, version: '1', title: b, effective_from: 2026-01-01}\nphases: [c]\n",
    "facts": "facts:\n"
    "  a: {about: b, kind: number, minimum: 0, maximum: 9, cut_points: [3], given_as: /a/b}\n"
    "  c: {about: d, kind: enumeration, values: {e: f}, origin: rules, default: e}\n"
    "  g: {about: h, kind: boolean, given_as: /g, applies_when: {c: {not: [e]}}, otherwise: false}\n",
    "substrates": "substrates:\n  - {symbol: PP, name: a, properties: {b: low, c: 1, d: true}, source: e,\n"
    "     figures: {melting_c: {low: 1, high: 2, evidence: f}}}\n",
    "stages": "stages:\n"
    "  - {id: a, title: b, phase: c, resource: d, labour: e, instructions: [f], source: g,\n"
    "     work: {fixed_min: 5}, wait: {minutes: 1, valid_c: [15, 15]},\n"
    "     parameters: {coats: 2, abrasive: P80},\n"
    "     window: {to: [h], not_before_min: 1, not_after_min: null, if_missed: null}}\n",
    "cautions": "cautions:\n  - {id: a, title: b, signal: danger, hazard: c, protect: d, first_measure: e,\n"
    "     defer: f, source: g, ghs: [H334, EUH066]}\n",
    "materials": "materials:\n"
    "  - {id: a, title: b, kind: cleaner, use_ml_per_m2: 5, voc_g_per_l: 1, source: c}\n"
    "  - {id: d, title: e, kind: filler, source: f}\n",
    "jurisdictions": "jurisdictions:\n"
    "  - {id: a, title: b, within: null, edition: c, convention: less_water, exempt_compounds: [d],\n"
    "     categories: [{id: e, title: f, roles: [primer_sealer], limit_g_per_l: 5, evidence: g}],\n"
    "     adds: {h: [i]}, over_limit: [j], source: k}\n",
    "policies": "policies:\n"
    "  - {id: a, when: {b: c, d: {at_least: 3}}, minimum_saving_pct: -5, maximum_elapsed_min: 60,\n"
    "     why: e, source: f}\n",
    "rules": "rules:\n"
    "  - {id: a, when: {b: c, any: [{d: true}, {e: {below: 3}}]}, set: {f-g.coats: 2}, why: h, source: i}\n",
    "cases": "cases:\n"
    "  - {name: A case, given: {material: PP, b: 1}, expect: {disposition: repair, order: [a, b]}}\n",
    "assertions": "assertions:\n"
    "  - {id: a, where: {disposition: [repair]}, always: {parameters: {b.coats: {at_most: 2}}},\n"
    "     why: c, source: d}\n",
    "changes": "amend: {stages: {a: {window: {not_after_min: 5}}}, materials: {b: {film_um: 3}}}\n"
    "withdraw: [{rule: c, why: d}, {policy: e, why: f}]\n",
}

# Shape faults, with what stands in the sound file, and what takes its place. The codes are the loader's.
SHAPE_FAULTS = (
    ("R017", "rules", "rules:", "rulez:"),
    ("R101", "stages", "resource: d", "resorce: d"),
    ("R101", "stages", "{minutes: 1", "{minute: 1"),
    ("R101", "changes", "not_after_min", "not_after"),
    ("R101", "rules", "why: h", "because: h"),
    ("R101", "rules", "below: 3", "under: 3"),
    ("R101", "materials", "kind: filler", "kind: filler, film_um: 3"),
    ("R101", "jurisdictions", "within: null", "inside: null"),
    ("R101", "policies", "minimum_saving_pct", "minimal_saving_pct"),
    ("R101", "cases", "order: [a, b]", "orders: [a, b]"),
    ("R101", "facts", "kind: boolean", "kind: boolean, unit: mm"),
    ("R102", "stages", "fixed_min: 5", "per_m2_min: 5"),
    ("R102", "facts", "minimum: 0, ", ""),
    ("R102", "cases", "material: PP, ", ""),
    ("R102", "pack", "title: b, ", ""),
    ("R103", "stages", "coats: 2", "coats: '2'"),
    ("R103", "stages", "instructions: [f]", "instructions: f"),
    ("R103", "substrates", "low: 1", "low: '1'"),
    ("R103", "pack", "'1'", "1"),
    ("R103", "rules", "set: {f-g.coats: 2}", "set: [f-g.coats]"),
    ("R103", "facts", "cut_points: [3]", "cut_points: 3"),
    ("R104", "rules", "id: a", "id: A_b"),
    ("R104", "cautions", "H334", "334"),
    ("R104", "substrates", "symbol: PP", "symbol: pp"),
    ("R105", "cautions", "signal: danger", "signal: alarm"),
    ("R105", "cases", "disposition: repair", "disposition: mend"),
    ("R105", "facts", "origin: rules", "origin: rule"),
    ("R105", "jurisdictions", "roles: [primer_sealer]", "roles: [sealer]"),
    ("R106", "stages", "fixed_min: 5", "fixed_min: -5"),
    ("R106", "stages", "coats: 2", "coats: 0"),
    ("R106", "jurisdictions", "limit_g_per_l: 5", "limit_g_per_l: -5"),
    ("R106", "policies", "minimum_saving_pct: -5", "minimum_saving_pct: -500"),
    ("R106", "policies", "maximum_elapsed_min: 60", "maximum_elapsed_min: -60"),
    ("R108", "policies", "why: e", "why: ''"),
    ("R108", "rules", "{b: c, any: [{d: true}, {e: {below: 3}}]}", "{}"),
    ("R108", "rules", "why: h", "why: ' '"),
    ("R108", "stages", "to: [h]", "to: []"),
    ("R108", "jurisdictions", "{h: [i]}", "{h: []}"),
    ("R109", "cases", "order: [a, b]", "order: [a, a]"),
    ("R112", "rules", "e: {below: 3}", "e: 3"),
    ("R128", "stages", "P80", "P81"),
    ("R130", "facts", "given_as: /a/b", "given_as: a.b"),
)


@pytest.mark.parametrize("kind", SOUND)
def test_a_sound_file_is_valid(kind: str) -> None:
    assert faults(kind, SOUND[kind]) == []


@pytest.mark.parametrize(("code", "kind", "old", "new"), SHAPE_FAULTS)
def test_a_shape_fault_is_seen_by_the_schema(code: str, kind: str, old: str, new: str) -> None:
    assert SOUND[kind].count(old) == 1
    assert faults(kind, SOUND[kind].replace(old, new))
    if code != "R017":
        assert faults(ANY_KIND, SOUND[kind].replace(old, new))


def test_the_loader_and_the_schemas_know_and_require_the_same_members(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = Rows(monkeypatch)
    check_folder(BASE_PACK)
    compared = 0
    for path, text in read_folder(BASE_PACK).items():
        schema = SCHEMAS[kind_of(path, text)]
        for place, schemas in described(compose(text, path, "base", Report()), schema, schema["$defs"]):
            if place in rows.known:
                known, required = rows.known[place]
                assert [frozenset(each["properties"]) for each in schemas if closed(each)] == [known], place
                assert [frozenset(each.get("required", ())) for each in schemas if closed(each)] == [required]
                compared += 1
    # The header is read a second time, ahead of all else, with a look at two members only.
    assert compared == len(rows.known) > 1000


def closed(schema: Any) -> bool:
    return schema.get("additionalProperties") is False


def test_changes_know_all_members_but_the_name_and_require_none() -> None:
    definitions = SCHEMAS[ANY_KIND]["$defs"]
    changes = {name.removesuffix("Changes"): each for name, each in definitions.items() if "Changes" in name}
    assert {"Stage", "Window", "Caution", "Coating", "Substrate", "Figure"} <= changes.keys()
    for name, each in changes.items():
        assert definitions[name]["properties"].keys() - each["properties"].keys() <= {"id", "symbol"}
        assert "required" not in each


def test_the_layout_and_the_schemas_know_the_same_members() -> None:
    assert_same(FILE, [SCHEMAS[ANY_KIND]])


def assert_same(shape: Shape, schemas: list[Any]) -> None:
    below: dict[str | None, Shape] = {}
    if isinstance(shape, OrderOf):
        assert {name for schema in schemas for name in schema["properties"]} <= shape.members.keys()
        below = dict(shape.members)
    elif isinstance(shape, ListOf | MapOf):
        below = {None: shape.item}
    for name, item in below.items():
        if item is not None:
            parts = [part for schema in schemas for part in parts_of(schema, name)]
            assert parts, name
            assert_same(item, [each for part in parts for each in resolved(part, SCHEMAS[ANY_KIND]["$defs"])])


def parts_of(schema: Any, name: str | None) -> list[Any]:
    """The member of a row, or what every item of a list or member of a mapping is like."""
    if name is not None:
        return [schema["properties"][name]] if name in schema["properties"] else []
    return [each for each in (schema.get("items"), schema.get("additionalProperties")) if each] or [
        *schema.get("properties", {}).values()
    ]
