"""How long an impact takes: `python tests/api/packs_bench.py [LINE_ITEMS [SITUATIONS]]`.

On an invented stock of line items in a SQLite file, drawn from the whole domain of the base pack, which
is harder than a shop's: hardly two situations lead to one decision. Prints seconds for the stock and for
one of ten times as many line items that state the same.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import insert

from api.packs.agreement import random_facts
from api.packs.comparing import Comparison
from api.packs.impact import Impact
from rules.loading import BASE_PACK, load_files, load_folder, read_folder
from rules.pack import Pack
from rules.predicates import holds
from rules.vocabulary import Origin
from schemas.pack import OVERLAY
from storage.records import StatedFacts, json_text
from storage.shops import LOCAL
from storage.store import Store, open_store
from storage.tables import latest_procedures, procedures, stated_facts

AT_ONCE = 10_000


def statements(pack: Pack, count: int) -> list[StatedFacts]:
    facts = pack.vocabulary.from_origin(Origin.LINE_ITEM)
    found = []
    for values in random_facts(pack, count):
        symbol = next(
            name for name, row in pack.substrates.items() if row.properties.items() <= values.items()
        )
        stated = {
            fact.name: values[fact.name]
            for fact in facts
            if fact.applies_when is None or holds(fact.applies_when, values)
        }
        found.append(StatedFacts(symbol, stated))
    return found


def fill(store: Store, pack: Pack, stated: list[StatedFacts], first: int, count: int) -> None:
    now = datetime.now(UTC)

    def rows() -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
        for number in range(first, first + count):
            shared = {"shop": LOCAL, "pack_digest": pack.digest, "issued_at": now}
            procedure = {"id": f"pr-{number:032x}", "document": "{}", "facts": "{}", **shared}
            key = stated[number % len(stated)].key
            latest = {"reference": f"RO-{number}", "procedure_id": procedure["id"], "stated_key": key}
            yield procedure, {**latest, **shared}

    every = rows()
    with store._engine.begin() as connection:
        while some := list(islice(every, AT_ONCE)):
            connection.execute(insert(procedures), [procedure for procedure, _ in some])
            connection.execute(insert(latest_procedures), [latest for _, latest in some])


def impact_s(store: Store, pack: Pack, candidate: Pack) -> tuple[float, dict[str, Any]]:
    started = time.perf_counter()
    comparison = Comparison(candidate, {pack.digest: pack}.get)
    document = Impact(comparison, store.activations.situations(LOCAL), LOCAL).document(50)
    json.dumps(document)
    return time.perf_counter() - started, document


def main(line_items: int, situations: int) -> None:
    pack = load_folder(BASE_PACK)
    candidate = load_files([read_folder(BASE_PACK), OVERLAY["files"]])
    stated = statements(pack, situations)
    with TemporaryDirectory() as folder:
        store = open_store(f"sqlite:///{Path(folder) / 'store.sqlite3'}")
        store.keep_pack(pack)
        with store._engine.begin() as connection:
            rows = {each.key: each for each in stated}
            connection.execute(
                insert(stated_facts),
                [
                    {"key": key, "material": each.material, "facts": json_text(dict(each.facts))}
                    for key, each in rows.items()
                ],
            )
        fill(store, pack, stated, 0, line_items)
        once_s, document = impact_s(store, pack, candidate)
        fill(store, pack, stated, line_items, 9 * line_items)
        ten_s, _ = impact_s(store, pack, candidate)
        store.close()
    counts = document["line_items"]
    print(f"{document['situations']} situations, {counts['changed']} of {counts['total']} line items change")
    print(
        f"{line_items} line items: {once_s:.2f} s; {10 * line_items}: {ten_s:.2f} s, {ten_s / once_s:.2f} x"
    )


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [100_000, 1000][len(given) :]))
