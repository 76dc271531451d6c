"""Whatever is said in the words of the vocabulary, where they apply, is answered with a procedure."""

from __future__ import annotations

from typing import Any

from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rules.loading import BASE_PACK, load_folder
from rules.predicates import holds
from rules.vocabulary import Fact, Kind, Origin
from schemas.procedure.document import identifier_of

PACK = load_folder(BASE_PACK)
FACTS = sorted(PACK.vocabulary.from_origin(Origin.LINE_ITEM), key=lambda fact: fact.applies_when is not None)


def values_of(fact: Fact) -> st.SearchStrategy[Any]:
    if fact.kind is Kind.BOOLEAN:
        return st.booleans()
    if fact.kind is Kind.ENUMERATION:
        return st.sampled_from(sorted(fact.values))
    if fact.name == "damage_count":
        return st.integers(int(fact.minimum), int(fact.maximum))
    return st.floats(fact.minimum, fact.maximum) | st.sampled_from(
        [fact.minimum, *fact.cut_points, fact.maximum]
    )


@st.composite
def line_items(draw: st.DrawFn) -> dict[str, Any]:
    substrate = PACK.substrates[draw(st.sampled_from(sorted(PACK.substrates)))]
    part = {"name": "part", "material": substrate.symbol}
    body: dict[str, Any] = {"line_item": {"reference": "any"}, "part": part, "damage": {}}
    values, features = dict(substrate.properties), []
    states_features = draw(st.booleans())
    for fact in FACTS:
        _, section, name, *feature = (fact.given_as or "").split("/")
        if fact.applies_when is not None and not holds(fact.applies_when, values):
            continue
        value = draw(values_of(fact))
        if feature:
            features += feature if value else []
        elif fact.default is None or draw(st.booleans()):
            body.setdefault(section, {})[name] = values[fact.name] = value
    if states_features:
        body["part"]["features"] = features
    return body


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(line_items())
def test_any_line_item_gets_a_procedure(app: Flask, body: dict[str, Any]) -> None:
    client = app.test_client()
    response = client.post("/v1/procedures", json=body)
    document = response.json
    assert response.status_code == 201, response.text
    assert document is not None
    assert document["id"] == identifier_of(document)
    assert client.get(document["links"]["self"]).json == document
    assert client.get(document["links"]["explanation"]).status_code == 200
