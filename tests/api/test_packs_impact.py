from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from checked_client import serving, snapshot
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from packs_at_hand import gap, issue, keep, version
from small_pack import SMALL_PACK

from api.packs.comparing import Comparison
from api.packs.outcomes import Outcomes
from api.snapshot import use
from rules.loading import load_files
from schemas.examples import FULL, MINIMAL
from schemas.pack import OVERLAY
from storage.records import Situation, StatedFacts
from storage.shops import LOCAL


def impact(app: Flask, files: Any, query: str = "") -> Any:
    digest = keep(app, files, proven=False).digest
    response = app.test_client().get(f"/v1/packs/{digest}/impact{query}")
    assert response.status_code == 200, response.text
    return response.json


def stock(client: FlaskClient) -> None:
    """Three polypropylene covers, of which one was issued twice, one of ABS, and one over an airbag."""
    for reference in ("R1", "R2", "R3"):
        issue(client, reference=reference)
    issue(client, reference="R3", kind="scratch")
    issue(client, reference="R4", material="ABS")
    issue(client, reference="R5", features=["airbag_cover"])


def test_a_pack_changes_nothing_against_itself(service: Flask, shop: FlaskClient) -> None:
    stock(shop)
    found = impact(service, version(2))
    assert found["line_items"] == {
        "total": 5,
        "unchanged": 5,
        "changed": 0,
        "refused": 0,
        "not_compared": 0,
    }
    assert found["dispositions"]["before"] == found["dispositions"]["after"] == {"repair": 4, "refer": 1}
    assert (found["changes"], found["situations"]) == ([], 4)


def test_a_changed_parameter_is_told_for_the_line_items_it_concerns(
    service: Flask, shop: FlaskClient
) -> None:
    stock(shop)
    found = impact(service, version(3))
    assert (found["line_items"]["changed"], found["line_items"]["unchanged"]) == (3, 2)
    (change,) = found["changes"]
    assert (change["line_items"], change["situations"]) == (3, 2)
    assert change["disposition"] == {"before": "repair", "after": "repair"}
    assert change["stages"]["changed"] == [
        {"stage": "adhesion-promoter", "member": "parameters.coats", "before": 2, "after": 3}
    ]
    assert change["example"]["line_item"] in ("R1", "R2")
    assert change["example"]["facts"] == {"damage_type": "crack"}
    assert change["labour_hours"] == {"before": {"refinish": 0.9}, "after": {"refinish": 1.2}}
    # wash 5 min, then 5 min a coat
    assert change["example"]["elapsed_min"] == {"before": 15, "after": 20}


def test_stages_cautions_and_dispositions_that_come_and_go_are_told(
    service: Flask, shop: FlaskClient
) -> None:
    stock(shop)
    rules = SMALL_PACK["rules/all.yaml"]
    refers = rules.replace("{airbag_cover: false}", "{airbag_cover: false, damage_type: scratch}", 1).replace(
        "when: {airbag_cover: true}", "when: {any: [{airbag_cover: true}, {damage_type: crack}]}"
    )
    refers = refers.replace(
        "{surface_energy: low, airbag_cover: false}",
        "{surface_energy: low, airbag_cover: false, damage_type: scratch}",
    )
    found = impact(service, {**SMALL_PACK, "rules/all.yaml": refers})
    assert found["dispositions"] == {
        "before": {"repair": 4, "refer": 1},
        "after": {"repair": 1, "refer": 4},
    }
    changes = {change["line_items"]: change for change in found["changes"]}
    assert changes.keys() == {1, 2}
    assert changes[2]["stages"]["removed"] == ["wash", "adhesion-promoter"]
    assert changes[2]["cautions"] == {"added": [], "removed": ["solvent-vapour"]}
    assert changes[1]["stages"]["removed"] == ["wash"]
    assert changes[2]["disposition"] == {"before": "repair", "after": "refer"}
    assert changes[2]["labour_hours"] == {"before": {"refinish": 0.6}, "after": {}}


def test_what_changes_in_the_catalogue_and_in_the_order_is_told(service: Flask, shop: FlaskClient) -> None:
    stock(shop)
    stages = SMALL_PACK["stages.yaml"].replace(
        "    after: [wash]\n",
        "    window: {to: [wash], not_before_min: 5, not_after_min: 20, if_missed: adhesion-promoter}\n",
    )
    stages = stages.replace("phase: clean", "phase: prime").replace(
        "title: Wash the part\n", "title: Wash the part\n    after: [adhesion-promoter]\n"
    )
    found = impact(service, {**SMALL_PACK, "stages.yaml": stages})
    (change,) = found["changes"]
    assert change["stages"]["moved"] == ["adhesion-promoter"] or change["stages"]["moved"] == ["wash"]
    changed = {each["member"]: (each["before"], each["after"]) for each in change["stages"]["changed"]}
    assert changed["window.not_after_min"] == (None, 20)
    assert changed["window.if_missed"] == (None, "adhesion-promoter")
    assert not any(member.startswith("parameters.") for member in changed)


def test_what_would_be_refused_is_counted_and_told_why(service: Flask, shop: FlaskClient) -> None:
    stock(shop)
    found = impact(service, gap())
    assert (found["line_items"]["refused"], found["line_items"]["unchanged"]) == (1, 4)
    assert found["dispositions"]["after"] == {"repair": 4, "refused": 1}
    (change,) = found["changes"]
    assert change["disposition"] == {"before": "refer", "after": None}
    assert "no rule decides a disposition" in change["refused"]
    facts = SMALL_PACK["facts.yaml"] + (
        "  place:\n    about: Where.\n    kind: boolean\n    given_as: /part/inside\n"
    )
    rules = SMALL_PACK["rules/all.yaml"] + (
        "  - {id: inside, when: {place: true, airbag_cover: false}, caution: [solvent-vapour],"
        " why: It is close., source: common practice}\n"
    )
    case = SMALL_PACK["cases/all.yaml"].replace("damage_type: scratch}", "damage_type: scratch, place: true}")
    more = {**SMALL_PACK, "facts.yaml": facts, "rules/all.yaml": rules, "cases/all.yaml": case}
    found = impact(service, more)
    assert found["line_items"]["refused"] == 5
    assert all("place: is missing" in change["refused"] for change in found["changes"])


def test_a_new_default_counts_for_facts_that_were_assumed_and_not_for_those_that_were_given(
    service: Flask, shop: FlaskClient
) -> None:
    issue(shop, reference="assumed")
    issue(shop, reference="given", features=[])
    facts = SMALL_PACK["facts.yaml"].replace("default: false", "default: true")
    found = impact(service, {**SMALL_PACK, "facts.yaml": facts})
    (change,) = found["changes"]
    assert (change["example"]["line_item"], change["disposition"]["after"]) == ("assumed", "refer")
    assert found["line_items"]["unchanged"] == 1


def test_a_material_is_understood_anew(service: Flask, shop: FlaskClient) -> None:
    issue(shop, reference="by word", material="polypropylene")
    issue(shop, reference="by symbol", material="PP")
    substrates = SMALL_PACK["substrates.yaml"].replace("aliases: [polypropylene]", "aliases: [polypro]")
    found = impact(service, {**SMALL_PACK, "substrates.yaml": substrates})
    (change,) = found["changes"]
    assert change["example"]["line_item"] == "by word"
    assert "polypropylene" in change["refused"]


def test_only_the_largest_changes_are_listed_and_the_rest_are_counted(
    service: Flask, shop: FlaskClient
) -> None:
    stock(shop)
    broken = {**gap(), "rules/all.yaml": gap()["rules/all.yaml"].replace("coats: 2", "coats: 3")}
    broken["cases/all.yaml"] = broken["cases/all.yaml"].replace("coats: 2", "coats: 3")
    found = impact(service, broken, "?limit=1")
    assert ([change["line_items"] for change in found["changes"]], found["changes_left_out"]) == ([3], 1)


def test_procedures_of_several_packs_are_each_compared_with_their_own(
    service: Flask, shop: FlaskClient
) -> None:
    issue(shop, reference="old")
    first = snapshot(service)
    other = keep(service, version(3))
    use(service, replace(first, pack=other, decider=type(first.decider)(other, first.decider.engine)))
    found = impact(service, version(3))
    assert (found["situations"], found["line_items"]["changed"]) == (1, 1)


def test_a_pack_that_cannot_be_read_any_more_is_not_compared(service: Flask, shop: FlaskClient) -> None:
    issue(shop)
    pack = load_files([version(3)])
    situations = snapshot(service).store.activations.situations(LOCAL)
    comparison = Comparison(pack, lambda digest: None)
    assert comparison.compare(situations[0]).before is None
    assert comparison.changed(situations) == list(situations)


def test_labour_of_an_impact_is_that_of_the_procedures(tmp_path: Path) -> None:
    """On the base pack: nothing is reckoned here in another way than when a procedure is issued."""
    app = serving(tmp_path / "store.sqlite3")
    client = app.test_client()
    bodies = [
        body | {"line_item": {"reference": f"R{number}"}}
        for number, body in enumerate([MINIMAL, FULL, {**MINIMAL, "damage": {"type": "none"}}])
    ]
    documents = [client.post("/v1/procedures", json=body).json for body in bodies]
    pack, store = snapshot(app).pack, snapshot(app).store
    outcomes = Outcomes(pack)
    by_reference = {each.reference: each for each in store.activations.situations(LOCAL)}
    for document in documents:
        assert document is not None
        answered = outcomes.answer(by_reference[document["line_item"]["reference"]].stated)
        assert answered.labour_hours == document["totals"]["labour_hours"]
        assert answered.elapsed_min == document["timeline"]["elapsed_min"]
        assert answered.outcome.disposition == document["disposition"]
        assert list(answered.outcome.stages) == [stage["stage"] for stage in document["stages"]]
        assert answered.outcome.cautions == {
            # What the law of a place adds is of no rule and no stage, and no impact of these.
            each["caution"]
            for each in document["cautions"]
            if not any(asker.startswith("jurisdiction ") for asker in each["because"])
        }
        for stage in document["stages"]:
            told = answered.outcome.stages[stage["stage"]]
            parameters = {name: told[f"parameters.{name}"] for name in stage["parameters"]}
            assert parameters == stage["parameters"]
    overlaid = client.post("/v1/packs", json=OVERLAY).json
    assert overlaid is not None
    found = client.get(overlaid["links"]["impact"]).json
    assert found is not None
    members = {each["member"] for change in found["changes"] for each in change["stages"]["changed"]}
    assert members == {"window.not_after_min"}
    store.close()


situations = st.builds(
    Situation,
    st.just("local"),
    st.just("issued"),
    st.builds(
        StatedFacts,
        st.sampled_from(["PP", "ABS", "polypropylene"]),
        st.fixed_dictionaries(
            {"damage_type": st.sampled_from(["crack", "scratch"])},
            optional={"airbag_cover": st.booleans()},
        ),
    ),
    st.integers(1, 9),
    st.just("R1"),
)


@settings(max_examples=30, deadline=None)
@given(situations, st.integers(2, 4), st.integers(2, 4))
def test_a_change_and_its_reverse_tell_the_same(situation: Situation, before: int, after: int) -> None:
    old, new = load_files([version(before)]), load_files([version(after)])
    there = Comparison(new, lambda digest: old).compare(situation).difference
    back = Comparison(old, lambda digest: new).compare(situation).difference
    assert (there is None) == (back is None)
    assert before != after or there is None
    if there is not None and back is not None:
        assert (there.added, there.removed) == (back.removed, back.added)
        assert [(each.before, each.after) for each in there.changed] == [
            (each.after, each.before) for each in back.changed
        ]
