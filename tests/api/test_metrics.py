"""Figures for Prometheus, and who may read them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, caller, is_refused, keyed_service, store_of
from packs_at_hand import activate, keep, line_item, told, version
from prometheus_client.parser import text_string_to_metric_families

from api.keys.scopes import ADMIN, LINE_ITEMS, RULES
from storage.claims import Result
from storage.shops import LOCAL
from storage.webhook_records import ISSUED


def samples(client: FlaskClient) -> dict[tuple[str, frozenset[tuple[str, str]]], float]:
    """Every figure by its name and labels."""
    response = client.get("/metrics")
    assert response.status_code == 200, response.text
    assert response.content_type == "text/plain; version=0.0.4; charset=utf-8"
    return {
        (sample.name, frozenset(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(response.text)
        for sample in family.samples
    }


def figure(client: FlaskClient, name: str, **labels: str) -> float:
    return samples(client).get((f"stagewright_{name}", frozenset(labels.items())), 0)


def issue(client: FlaskClient, **line: Any) -> None:
    assert client.post("/v1/procedures", json=line_item(**line)).status_code == 201


def test_requests_are_counted_by_method_template_and_status(service: Flask) -> None:
    client = service.test_client()
    for name in ("one", "two", "three"):
        client.get(f"/v1/procedures/pr-{name}")
        client.get(f"/nothing/{name}")
        client.open("/livez", method=f"{name}-fetch")
    counted = "request_duration_seconds_count"
    assert figure(client, counted, method="GET", route="/v1/procedures/{procedure_id}", status="404") == 3
    assert figure(client, counted, method="GET", route="(none)", status="404") == 3
    assert figure(client, counted, method="OTHER", route="(none)", status="405") == 3
    assert figure(client, counted, method="GET", route="/metrics", status="200") == 3
    assert figure(client, counted, method="POST", route="/v1/procedures", status="201") == 0


def test_what_callers_think_of_makes_no_new_labels(service: Flask) -> None:
    client = service.test_client()

    def ask(name: str) -> None:
        client.open("/livez", method=f"{name}")
        client.get(f"/{name}", headers={"Host": f"{name}.example"})
        client.get(f"/v1/procedures/{name}?{name}={name}")
        client.get("/livez", headers={"Origin": f"https://{name}.example"})

    ask("first")
    client.get("/metrics")
    before = samples(client).keys()
    for number in range(20):
        ask(f"other{number}")
    assert samples(client).keys() == before


def test_decisions_are_counted_by_disposition_and_whether_they_were_remembered(service: Flask) -> None:
    client = service.test_client()
    for reference in ("R1", "R2", "R3"):
        issue(client, reference=reference)
    dispositions = {
        dict(labels)["disposition"]: count
        for (name, labels), count in samples(client).items()
        if name == "stagewright_decisions_total"
    }
    assert sum(dispositions.values()) == 3
    assert len(dispositions) == 1
    missed, hit = (figure(client, "decision_lookups_total", found=found) for found in ("miss", "hit"))
    assert missed > 0
    assert hit >= 2
    issue(client, reference="R4")
    assert figure(client, "decision_lookups_total", found="miss") == missed
    assert figure(client, "decision_lookups_total", found="hit") > hit


def test_the_pack_in_force_is_the_one_that_is_shown(service: Flask) -> None:
    client = service.test_client()
    first = {labels for name, labels in samples(client) if name == "stagewright_pack_info"}
    pack = keep(service, version(7))
    assert activate(client, pack.digest).status_code == 200
    ((labels, value),) = [
        (dict(labels), value)
        for (name, labels), value in samples(client).items()
        if name == "stagewright_pack_info"
    ]
    assert value == 1
    assert labels["digest"] == pack.digest
    assert frozenset(labels.items()) not in first


def test_events_that_wait_for_delivery_are_counted_once_and_others_not(service: Flask) -> None:
    client, store = service.test_client(), store_of(service)
    issue(client)
    pack = keep(service, version(7))
    assert activate(client, pack.digest).status_code == 200
    assert figure(client, "outbox_events") == 0
    both = [store.webhooks.create(LOCAL, "https://shop.example/", [ISSUED]).webhook for _ in range(2)]
    issue(client, reference="R2")
    issue(client, reference="R3")
    assert figure(client, "outbox_events") == 2
    store.webhooks.change(LOCAL, both[0].id, enabled=False)
    assert figure(client, "outbox_events") == 2
    claim = store.claims.claim(LOCAL, both[1].id, timedelta(minutes=1))
    assert claim is not None
    store.claims.delivered(claim, Result(12, 204, "answered 204"))
    assert figure(client, "outbox_events") == 1


def test_nobody_but_the_shop_of_the_service_reads_figures_of_all_shops(tmp_path: Path) -> None:
    app = keyed_service(tmp_path)
    assert is_refused(app.test_client().get("/metrics"))
    told(caller(app, LOCAL, LINE_ITEMS, RULES).get("/metrics"), 403, "scope-missing")
    told(caller(app, NORTH).get("/metrics"), 403, "service-only")
    assert samples(caller(app, LOCAL, ADMIN))
    store_of(app).close()


def test_no_figure_tells_of_a_shop(tmp_path: Path) -> None:
    app = keyed_service(tmp_path)
    issue(caller(app, NORTH), reference="zq7secret4xw")
    text = caller(app, LOCAL).get("/metrics").text
    store_of(app).close()
    assert 'route="/v1/procedures"' in text
    assert NORTH not in text
    assert "zq7secret4xw" not in text
