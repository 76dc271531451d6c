"""Kills a service in the midst of activations: `python tests/api/packs_killed.py [TIMES [SEED]]`.

Each time, a process alternates two packs as fast as it can and is ended by SIGKILL at a random moment of
the second turn; how long a turn takes, the first one tells.
Then the service is started again on its database: exactly one whole pack must be in force, the one of the
last decision entered; the audit must be whole; and a line item must be answered by that pack. Likewise
once at each of POINTS. Prints a line of JSON, and ends with 1 where anything of this fails.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NoReturn

from checked_client import snapshot
from flask import Flask
from packs_at_hand import activate, coats, issue, keep, version
from small_pack import small_pack

from api.application import Settings, create_app
from api.packs import service_pack
from rules.loading import load_files
from rules.loading.digest import digest_of
from storage import activations as activations_of_store
from storage import audit, superseding
from storage.shops import LOCAL

POINTS = (
    (activations_of_store, "refuse_unproven"),  # in the transaction, nothing written
    (audit, "append"),  # the decision written, its audit entry not
    (superseding, "tell"),  # both written, nobody told
    (service_pack, "use"),  # all entered, requests still with the pack before
    (service_pack, "in_use"),
)
"""(module, function): the process ends where an activation first comes to it."""


def alternate(settings: Settings, ready: int, point: tuple[Any, str] | None) -> NoReturn:
    """In the process that is killed."""
    app = create_app(settings)
    packs = [keep(app, version(coats)) for coats in (2, 3)]
    client = app.test_client()
    while True:
        started = time.monotonic()
        for pack in packs:
            issue(client)
            response = activate(client, pack.digest)
            assert response.status_code == 200, response.text
        os.write(ready, f"{time.monotonic() - started}\n".encode())
        if point is not None:
            setattr(*point, lambda *_arguments: os.kill(os.getpid(), signal.SIGKILL))


def kill(settings: Settings, turns: float, point: tuple[Any, str] | None = None) -> None:
    """Kill a process `turns` turns after its first, or let it end at a point of its second."""
    told, ready = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            alternate(settings, ready, point)
        finally:
            os._exit(1)
    os.close(ready)
    with os.fdopen(told) as turn:
        turn_s = float(turn.readline() or 0)
        if point is None:
            time.sleep(turns * turn_s)
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the process ended by itself"


def what_is_wrong(app: Flask) -> list[str]:
    """With a service that was started again."""
    here, store = snapshot(app), snapshot(app).store
    in_force = store.activations.in_force(LOCAL, datetime.now(UTC))
    files = store.pack_files(here.pack.digest) or {}
    number_of_coats = {load_files([version(coats)]).digest: coats for coats in (2, 3)}
    document = issue(app.test_client())
    checks = {
        "nothing is in force": in_force is not None,
        "another pack is in force than the last entered": in_force is not None
        and in_force == store.activations.last(LOCAL)
        and (in_force.pack_digest, in_force.number) == (here.pack.digest, here.activation),
        "its files are not whole": digest_of(files) == here.pack.digest,
        "it is neither of the two": here.pack.digest in number_of_coats,
        "a line item is answered by another": document["pack"]["digest"] == here.pack.digest
        and coats(document) == [number_of_coats.get(here.pack.digest)],
        "the audit is not whole": not store.audit.verify().faults,
    }
    return [fault for fault, holds in checks.items() if not holds]


def main(times: int, seed: int) -> dict[str, Any]:
    draw = random.Random(seed)
    faults: list[str] = []
    with TemporaryDirectory() as folder:
        settings = Settings(
            f"sqlite:///{folder}/store.sqlite3", small_pack(Path(folder) / "pack"), without_keys=True
        )
        for point in (*[None] * times, *POINTS):
            kill(settings, draw.random(), point)
            app = create_app(settings)
            faults += what_is_wrong(app)
            last = snapshot(app).activation
            snapshot(app).decider.engine.close()
            snapshot(app).store.close()
    return {"times": times, "points": len(POINTS), "seed": seed, "activations": last, "faults": faults}


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    outcome = main(*(given + [50, 1][len(given) :]))
    print(json.dumps(outcome))
    sys.exit(1 if outcome["faults"] else 0)
