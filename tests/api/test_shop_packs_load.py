"""Shops with rules of their own at once, under load: no answer is mixed, and no engine is left open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import NORTH, SOUTH, caller, key, store_of, with_key
from packs_at_hand import activate, coats, is_closed, keep, line_item, version
from shop_packs_at_hand import house_rules, keep_for
from sqlalchemy import select

from api.packs.at_work import active_pack
from rules.engines import Engine
from rules.pack import Pack
from storage.key_records import WrittenKey
from storage.shops import LOCAL
from storage.tables import procedures

COATS = {NORTH: (5, 6), SOUTH: (7, 8), LOCAL: (3, 4)}
CLIENTS = 3
ROUNDS = 6


def post_until(app: Flask, written: WrittenKey, client: int, stop: Event) -> list[tuple[str, list[int]]]:
    """Post line items until told to stop: the digest and the coats of every answer."""
    shop, answers, number = with_key(app, written), [], 0
    while not stop.is_set() or number < 5:
        number += 1
        response = shop.post("/v1/procedures", json=line_item(f"R{client}-{number}"))
        assert response.status_code == 201, response.text
        document: Any = response.get_json()
        answers.append((document["pack"]["digest"], coats(document)))
    return answers


def alternate(client: FlaskClient, packs: list[Pack]) -> None:
    for number in range(1, ROUNDS + 1):
        # What the service decides meanwhile does not matter here, so that it is not asked for first.
        body, headers = {"digest": packs[number % 2].digest}, {"If-Match": "*"}
        response = client.put("/v1/packs/active", json=body, headers=headers)
        assert response.status_code == 200, response.text


@pytest.mark.parametrize("in_memory", [16, 1])
def test_every_shop_is_answered_by_its_own_rules_while_all_of_them_change(
    keyed: Flask, in_memory: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    shops, seen, stop = active_pack(keyed).shops, set[Engine](), Event()
    monkeypatch.setattr(shops, "_most", in_memory)
    both = {shop: [made(keyed, shop, number) for number in numbers] for shop, numbers in COATS.items()}
    for shop, packs in both.items():
        assert activate(caller(keyed, shop), packs[0].digest).status_code == 200
    with ThreadPoolExecutor((CLIENTS + 1) * len(both)) as threads:
        asking = {
            shop: [threads.submit(post_until, keyed, key(keyed, shop), each, stop) for each in range(CLIENTS)]
            for shop in both
        }
        try:
            changing = [threads.submit(alternate, caller(keyed, shop), packs) for shop, packs in both.items()]
            while not all(each.done() for each in changing):
                seen.update(each.decider.engine for each in shops.loaded())
                active_pack(keyed).follow()
            for each in changing:
                each.result()
        finally:
            stop.set()
        answers = {
            shop: [found for each in clients for found in each.result()] for shop, clients in asking.items()
        }
    for shop, found in answers.items():
        own = {pack.digest: [number] for pack, number in zip(both[shop], COATS[shop], strict=True)}
        assert len(found) >= 5 * CLIENTS
        assert all(number == own[digest] for digest, number in found)
    left = [each.decider.engine for each in shops.loaded()]
    assert 1 <= len(left) <= in_memory
    assert [each for each in seen if is_closed(each) == (each in left)] == []
    assert filed_under_their_own_packs(keyed, both)
    assert store_of(keyed).audit.verify().faults == ()


def made(app: Flask, shop: str, number: int) -> Pack:
    """A pack of a shop with so many coats."""
    return keep(app, version(number)) if shop == LOCAL else keep_for(app, shop, house_rules(number))


def filed_under_their_own_packs(app: Flask, both: Mapping[str, Sequence[Pack]]) -> bool:
    """Whether every kept document names the pack it is filed under, and that is one of its shop."""
    columns = procedures.c.shop, procedures.c.document, procedures.c.pack_digest
    own = {shop: {pack.digest for pack in packs} for shop, packs in both.items()}
    with store_of(app)._engine.connect() as connection:
        rows = connection.execute(select(*columns)).all()
    return all(row.pack_digest in own[row.shop] and row.pack_digest in row.document for row in rows)
