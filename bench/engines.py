"""How fast line items are decided and answered, by one process on one core."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from itertools import cycle, islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from api.application import create_app
from api.settings import Settings
from api.snapshot import in_use
from bench.line_items import typical_line_items
from bench.printing import heading, table
from rules.cache import DecisionCache
from rules.conditions import Value
from rules.decider import Decider
from rules.engines.choose import engine_for
from rules.engines.reference import ReferenceEngine
from rules.loading import BASE_PACK, load_folder
from rules.pack import Pack

SECONDS = 3.0
"""For each way, in turns of a tenth of it, so that what else the machine does falls on all alike."""

TURNS = 10


def measure() -> None:
    """Prints the tables."""
    pack = load_folder(BASE_PACK)
    _evaluations(pack)
    with _serving() as app:
        _posts(app, pack)


def _evaluations(pack: Pack) -> None:
    facts = [
        line_item.facts(pack, material) for line_item in typical_line_items() for material in pack.substrates
    ]
    engine = engine_for(pack)
    deciders = {
        f"{engine.name}, every time anew": Decider(pack, engine),
        "reference, every time anew": Decider(pack, ReferenceEngine(pack)),
        f"{engine.name}, decisions remembered": Decider(pack, engine, DecisionCache()),
    }
    rates = _rates({name: _deciding(decider, facts) for name, decider in deciders.items()})
    engine.close()
    heading("Engines: decisions in a second")
    print(f"{len(pack.rules)} rules; {len(facts)} line items: the typical ones, of every material in turn.\n")
    _print_rates("", rates)


def _posts(app: Flask, pack: Pack) -> None:
    client = app.test_client()
    ways = {
        "POST /v1/procedures, a new reference each time": _posting(client, _line_items(pack), renewed=True),
        "POST /v1/procedures, the same again": _posting(client, _line_items(pack), renewed=False),
        "POST /v1/identifications, no line item": _identifying(client, {"tests": {"sanding": "smears"}}),
        "POST /v1/identifications, with a line item": _identifying(
            client, {"tests": {"sanding": "smears"}, **_without_material(typical_line_items()[0].body)}
        ),
    }
    heading("Requests in a second, in process")
    print("Flask's test client, SQLite on a file; no network, one request at a time.\n")
    _print_rates("", _rates(ways))


def _deciding(decider: Decider, facts: list[Mapping[str, Value]]) -> Callable[[], object]:
    given = cycle(facts)
    return lambda: decider.decide(next(given))


def _line_items(pack: Pack) -> list[dict[str, Any]]:
    materials = cycle(pack.substrates)
    return [
        {**line_item.body, "part": {**line_item.body["part"], "material": material}}
        for line_item in typical_line_items()
        for material in islice(materials, 4)
    ]


def _posting(client: FlaskClient, line_items: list[dict[str, Any]], renewed: bool) -> Callable[[], object]:
    bodies = cycle(line_items)
    references = iter(range(10**9))

    def post() -> None:
        reference = f"RO-{next(references)}" if renewed else "RO-20417"
        _post(client, "/v1/procedures", {**next(bodies), "line_item": {"reference": reference}}, 201)

    return post


def _identifying(client: FlaskClient, body: dict[str, Any]) -> Callable[[], object]:
    return lambda: _post(client, "/v1/identifications", body, 200)


def _without_material(body: Mapping[str, Any]) -> dict[str, Any]:
    part = {name: value for name, value in body["part"].items() if name != "material"}
    return {**body, "part": part}


def _post(client: FlaskClient, path: str, body: dict[str, Any], expected: int) -> None:
    response = client.post(path, json=body)
    if response.status_code != expected:
        raise RuntimeError(f"{path} answered {response.status_code}: {response.text}")


@contextmanager
def _serving() -> Iterator[Flask]:
    with TemporaryDirectory() as folder:
        app = create_app(
            Settings(database_url=f"sqlite:///{Path(folder) / 'bench.sqlite3'}", without_keys=True)
        )
        yield app
        in_use(app).store.close()


def _rates(ways: Mapping[str, Callable[[], object]]) -> dict[str, float]:
    """Calls in a second of each way, after one call that is not counted."""
    counted = dict.fromkeys(ways, 0)
    spent_s = dict.fromkeys(ways, 0.0)
    for call in ways.values():
        call()
    for _ in range(TURNS):
        for name, call in ways.items():
            begun = time.perf_counter()
            while (passed_s := time.perf_counter() - begun) < SECONDS / TURNS:
                call()
                counted[name] += 1
            spent_s[name] += passed_s
    return {name: counted[name] / spent_s[name] for name in ways}


def _print_rates(about: str, rates: Mapping[str, float]) -> None:
    first = next(iter(rates.values()))
    table(
        (about, "in a second", "ratio"),
        [(name, f"{rate:,.0f}", f"{rate / first:.2f}") for name, rate in rates.items()],
    )
