"""Fits the OpenAPI document, as it comes from the schemas, to the vocabulary of a rule pack."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from planning.costs.money import currencies
from rules.materials.identification.model import BenchTest
from rules.materials.identification.reading import tables_where_given
from rules.pack import Pack
from rules.vocabulary import Fact, Kind
from rules.wording import condition_in_words, value_in_words
from schemas.figures import plain
from schemas.line_item.body import ENVELOPE, SECTIONS
from schemas.line_item.charges import names_in_rates, ways_of_supply
from schemas.line_item.facts import facts_under

Json = dict[str, Any]


def fit_to_pack(document: Json, pack: Pack) -> None:
    """Write into `document` what a line item may state: types, values, bounds, defaults, what is required."""
    schemas: dict[str, Json] = document["components"]["schemas"]
    body = schemas["ProcedureRequest"]
    for section in SECTIONS:
        described = _referred(schemas, body["properties"][section])
        _fit_section(described, facts_under(pack, f"/{section}"), ENVELOPE.get(section, ()))
        if "required" in described and section not in body["required"]:
            body["required"].append(section)
            body["properties"][section] = _without_null(body["properties"][section])
    files = schemas["PackUpload"]["properties"]["files"]
    files["propertyNames"] = dict(files["additionalProperties"])
    _fit_part_to_identify(schemas["PartSeen"], pack)
    for part in (schemas["Part"], schemas["PartSeen"]):
        part["properties"]["features"]["items"]["enum"] = list(facts_under(pack, "/part/features"))
    _fit_tests(schemas["IdentificationRequest"]["properties"]["tests"], pack)
    body["properties"]["jurisdiction"]["enum"] = [*pack.jurisdictions, None]
    _fit_rates(_referred(schemas, body["properties"]["rates"])["properties"], pack)
    _fit_batch(schemas["BatchItem"], body)


def _fit_batch(item: Json, body: Json) -> None:
    """A line item of a batch is one that is sent alone, with a key of its own beside."""
    item["properties"] |= deepcopy(body["properties"])
    item["required"] = list(body["required"])


def _fit_rates(rates: Json, pack: Pack) -> None:
    """What may have a price."""
    for member, names in names_in_rates(pack).items():
        rates[member]["propertyNames"] = {"enum": list(names)}
    rates["replacement_supplied_as"]["enum"] = [*ways_of_supply(pack), None]
    rates["currency"]["enum"] = list(currencies())


def _fit_section(described: Json, facts: dict[str, Fact], envelope: tuple[str, ...]) -> None:
    written = described["properties"]
    described["properties"] = {
        **{name: written[name] for name in envelope},
        **{name: _property(fact, written.get(name, {})) for name, fact in facts.items()},
    }
    needed = {name for name, fact in facts.items() if _must_be_given(fact)}
    if needed:
        described["required"] = sorted(needed.union(described.get("required", ())))
    described["additionalProperties"] = False


def _fit_part_to_identify(described: Json, pack: Pack) -> None:
    """Its facts may all be left out: the name of the part is of use alone."""
    _fit_section(described, facts_under(pack, "/part"), ("name", "features"))
    described.pop("required", None)


def _fit_tests(described: Json, pack: Pack) -> None:
    """Which bench tests there are, and what each may show."""
    tables = tables_where_given(pack)
    described["properties"] = {
        test.id: {"type": ["string", "null"], "enum": [*test.results, None], "description": _asked(test)}
        for test in (tables.tests.values() if tables else ())
    }
    described["additionalProperties"] = False


def _asked(test: BenchTest) -> str:
    return test.question + "".join(f"\n- `{result}`: {meaning}" for result, meaning in test.results.items())


def _must_be_given(fact: Fact) -> bool:
    return fact.default is None and fact.applies_when is None


def _property(fact: Fact, written: Json) -> Json:
    kind, optional = _type_of(fact, written), not _must_be_given(fact)
    described: Json = {"type": [kind, "null"] if optional else kind, "description": _about(fact)}
    if fact.kind is Kind.ENUMERATION:
        described["enum"] = [*fact.values, *([None] if optional else [])]
    if fact.kind is Kind.NUMBER:
        described |= {"minimum": plain(fact.minimum), "maximum": plain(fact.maximum)}
    return described


def _type_of(fact: Fact, written: Json) -> str:
    """The schema may be stricter than the pack, which knows no whole numbers."""
    if fact.kind is Kind.NUMBER:
        return "integer" if "integer" in written.get("type", ()) else "number"
    return "boolean" if fact.kind is Kind.BOOLEAN else "string"


def _about(fact: Fact) -> str:
    unit = f" Unit: {fact.unit}." if fact.unit else ""
    applies = f" Only where {condition_in_words(fact.applies_when)}." if fact.applies_when else ""
    # Not as `default`: clients that send one would state what nobody knows, and where it does not apply.
    taken = (
        f" Left out, it is taken to be {value_in_words(fact.default)}." if fact.default is not None else ""
    )
    values = "".join(f"\n- `{value}`: {meaning}" for value, meaning in fact.values.items())
    return f"{fact.about}{unit}{applies}{taken}{values}"


def _referred(schemas: dict[str, Json], described: Json) -> Json:
    """The schema that a property, which may be null, refers to."""
    reference: str = _without_null(described)["$ref"]
    return schemas[reference.rpartition("/")[2]]


def _without_null(described: Json) -> Json:
    for alternative in described.get("anyOf", ()):
        if "$ref" in alternative:
            return {**{name: value for name, value in described.items() if name != "anyOf"}, **alternative}
    return described
