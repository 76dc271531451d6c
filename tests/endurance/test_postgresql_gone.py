"""PostgreSQL crashes, stops and comes back under load, and the service lives through it."""

from __future__ import annotations

import json
from pathlib import Path
from time import sleep

from endurance.calling import Caller
from endurance.crash.checking import faults_of_all, repeat
from endurance.crash.databases import Database
from endurance.crash.ledger import Asked
from endurance.crash.writers import Writer
from endurance.postgresql import Server
from endurance.services import GUNICORN, running

WRITERS = 4


def test_every_failure_meanwhile_says_when_to_ask_again_and_nothing_acknowledged_is_lost(
    own_server: Server, tmp_path: Path
) -> None:
    url = own_server.new_database()
    with running(GUNICORN, tmp_path, url) as service:
        first = service.processes()
        writers = [Writer(service.port, f"RO-{n}", n) for n in range(WRITERS)]
        for writer in writers:
            writer.start()
        for _ in range(2):
            sleep(0.7)
            own_server.crash_and_start()
        own_server.stop()
        sleep(2)
        own_server.start()
        sleep(1)
        for writer in writers:
            writer.end()
        asked = [each for writer in writers for each in writer.asked]
        failed = [each for each in asked if not _done(each)]
        assert len(failed) > WRITERS
        assert len(asked) - len(failed) > WRITERS
        for each in failed:
            _says_when_to_ask_again(each)
        database, caller = Database(url), Caller(service.port)
        for each in failed:
            repeat(each, caller, database.let_leases_end)
        database.let_leases_end()
        faults = faults_of_all(asked, caller, database, keys_may_be_lost=True)
        database.close()
        assert faults == []
        assert service.processes() == first  # none was started anew
        assert '"Traceback' not in service.log.read_text()


def _done(asked: Asked) -> bool:
    answer = asked.answer
    return answer is not None and answer.status in (200, 201) and b"store-unavailable" not in answer.body


def _says_when_to_ask_again(asked: Asked) -> None:
    """In the answer itself, or in that of every line item of a batch that was not kept."""
    assert asked.answer is not None, "nobody answered within a minute"
    if asked.answer.status == 200:
        return
    assert (asked.answer.status, int(asked.answer.headers["Retry-After"])) == (503, 10), asked
    assert json.loads(asked.answer.body)["type"] == "/problems/store-unavailable"
