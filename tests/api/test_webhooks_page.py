"""The page on webhooks: its calls get the answers it shows, its code verifies what is really sent, and its
figures are those of the sender."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from actuals_at_hand import issued
from checked_client import serving, snapshot
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from pages_at_hand import Exchange, blocks, examples, listening, prose_of, run_code, text_of
from standardwebhooks import WebhookVerificationError
from webhooks_at_hand import PATH, asked, changed, listed, made, place

from api.events.addresses import AddressRefused, networks_of, refuse_url
from api.events.delivering import Delivering
from api.events.payloads import examples as payloads
from api.events.schedule import DELAYS, JITTER, LONGEST_HOLD
from api.events.sending import Sender
from api.events.signing import signed_headers
from api.settings import Settings
from schemas.webhooks import A_DAY_MIN, EVENTS, MOST_GRACE_MIN, STATES, TEST, URL
from storage.claims import AT_ONCE
from storage.deliveries import RETENTION
from storage.shops import LOCAL
from storage.webhook_secrets import new_secret
from storage.webhooks import MOST

PAGE = "webhooks.md"
TEXT, PROSE = text_of(PAGE), prose_of(PAGE)
CODE = run_code(PAGE)
EVENT_ID = f"ev_{'7a' * 16}"
BODY = json.dumps(payloads()["procedure.issued"]).encode()


@pytest.mark.parametrize("number", range(len(examples(PAGE))))
def test_an_example_gets_the_answer_that_is_shown(held: list[Exchange], number: int) -> None:
    held[number].hold()


def headers_of(secrets: Sequence[str], body: bytes, at: datetime | None = None) -> dict[str, str]:
    """As the service sends them."""
    return signed_headers(secrets, EVENT_ID, body.decode(), at or datetime.now(UTC))


def both(secret: str, headers: dict[str, str], body: bytes) -> bool:
    """Whether it is genuine, by the library and by hand, which must agree."""
    by_hand: bool = CODE["is_genuine"](secret, headers, body)
    try:
        by_library = CODE["verified_by_library"](secret, headers, body) == json.loads(body)
    except WebhookVerificationError:
        by_library = False
    assert by_hand == by_library
    return by_hand


def test_what_is_sent_is_genuine_with_each_secret_that_holds_and_with_no_other() -> None:
    new, old, strange = (new_secret() for _ in range(3))
    headers = headers_of([new, old], BODY)
    assert [both(secret, headers, BODY) for secret in (new, old, strange)] == [True, True, False]


@pytest.mark.parametrize(
    ("age_s", "fresh"), [(0, True), (290, True), (-290, True), (310, False), (-310, False)]
)
def test_what_is_old_is_refused(age_s: int, fresh: bool) -> None:
    secret = new_secret()
    headers = headers_of([secret], BODY, datetime.now(UTC) - timedelta(seconds=age_s))
    assert both(secret, headers, BODY) is fresh


@settings(deadline=None)
@given(place=st.integers(0, len(BODY) - 1), byte=st.integers(32, 126))
def test_no_byte_can_be_changed(place: int, byte: int) -> None:
    secret = new_secret()
    headers = headers_of([secret], BODY)
    other = BODY[:place] + bytes([byte]) + BODY[place + 1 :]
    assert CODE["is_genuine"](secret, headers, other) is (other == BODY)


@pytest.mark.parametrize("name", ["webhook-id", "webhook-timestamp", "webhook-signature"])
def test_no_header_can_be_changed(name: str) -> None:
    secret = new_secret()
    headers = headers_of([secret], BODY)
    value = headers[name]
    last = "1" if value[-1] != "1" else "2"
    assert both(secret, {**headers, name: value[:-1] + last}, BODY) is False


@settings(deadline=None)
@given(
    st.fixed_dictionaries(
        {name: st.text() for name in ("webhook-id", "webhook-timestamp", "webhook-signature")}
    ),
    st.binary(),
)
def test_whatever_is_sent_is_refused_and_breaks_nothing(headers: dict[str, str], body: bytes) -> None:
    assert CODE["is_genuine"](new_secret(), headers, body) is False


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    return tmp_path / "inbox.sqlite3"


def test_the_receiver_keeps_a_message_once_and_refuses_a_strange_one(inbox: Path) -> None:
    secret = new_secret()
    receiver = CODE["receiver"](secret, inbox).test_client()
    headers = headers_of([secret], BODY)
    for _ in range(2):
        assert receiver.post("/stagewright", data=BODY, headers=headers).status_code == 204
    strange = receiver.post("/stagewright", data=BODY, headers=headers_of([new_secret()], BODY))
    assert strange.status_code == 401
    assert receiver.post("/stagewright", data=BODY).status_code == 401
    assert kept(inbox) == [("RO-20417-3", EVENT_ID)]


def kept(inbox: Path) -> list[tuple[str, str]]:
    """The line item that each message in the inbox is about, with the id of the message."""
    with closing(sqlite3.connect(inbox)) as database:
        rows = database.execute("SELECT message, id FROM inbox").fetchall()
    return [(json.loads(message)["data"]["line_item"], identifier) for message, identifier in rows]


def test_what_happens_reaches_the_receiver_and_a_replay_is_no_second_message(
    tmp_path: Path, inbox: Path
) -> None:
    networks = networks_of("127.0.0.0/8")
    app = serving(tmp_path / "store.sqlite3", webhook_networks=networks)
    client, store = app.test_client(), snapshot(app).store
    timeout_s = Settings.webhook_timeout_s
    delivering = Delivering(store.claims, Sender(networks, timeout_s), timeout_s)
    webhook = made(client, URL, "procedure.issued")
    with listening(CODE["receiver"](webhook["secret"], inbox)) as address:
        assert changed(client, webhook, url=f"{address}/stagewright").status_code == 200
        issued(client, "RO-1")
        delivering.serve(LOCAL, webhook["id"], lambda: False)
        (delivery,) = listed(client, webhook)
        assert delivery["state"] == "delivered"
        assert kept(inbox) == [("RO-1", delivery["id"])]
        assert client.post(place(webhook, "deliveries", delivery["id"], "replay")).status_code == 202
        delivering.serve(LOCAL, webhook["id"], lambda: False)
    read: Any = client.get(place(webhook, "deliveries", delivery["id"])).json
    assert [attempt["status"] for attempt in read["attempts"]] == [204, 204]
    assert kept(inbox) == [("RO-1", delivery["id"])]
    store.close()


def rows(heading: str) -> list[list[str]]:
    """The cells of the table with this heading."""
    table = TEXT.partition(heading)[2].partition("\n\n")[0]
    lines = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("| ")]
    assert lines, heading
    return lines


UNITS = {"s": 1, "min": 60, "h": 3600}


def test_the_schedule_is_that_of_the_sender() -> None:
    table = rows("| attempt | after the one before |")
    assert [row[0] for row in table] == [str(number) for number in range(1, len(DELAYS) + 2)]
    told = [row[1].split() for row in table[1:]]
    assert tuple(timedelta(seconds=int(number) * UNITS[unit]) for number, unit in told) == DELAYS
    shortest = sum(DELAYS, timedelta()).total_seconds() / 3600
    least, most = re.findall(r"some (\d+) to (\d+) hours after the first", PROSE)[0]
    assert shortest <= int(least) < shortest + 1
    assert shortest * (1 + JITTER) <= int(most) < shortest * (1 + JITTER) + 1
    assert JITTER == 0.2
    assert "Up to a fifth is added" in PROSE


@pytest.mark.parametrize(
    "figure",
    [
        f"A shop may have {MOST} webhooks",
        f"stays in the log for {RETENTION.days} days",
        f"an attempt has {Settings.webhook_timeout_s} s in all",
        {2: "Two messages are under way to an address at a time"}[AT_ONCE],
        {1: "not before the time it names, an hour at most"}[LONGEST_HOLD.total_seconds() / 3600],
        {(1440, 10_080): "a day if left out, seven days at most"}[A_DAY_MIN, MOST_GRACE_MIN],
    ],
)
def test_a_figure_of_the_page_is_that_of_the_service(figure: str) -> None:
    assert figure in PROSE


def test_the_longest_wait_after_an_outage_is_the_longest_delay() -> None:
    longest_h = max(DELAYS).total_seconds() / 3600 * (1 + JITTER)
    (told,) = re.findall(r"at most some (\d+) hours after you are back", PROSE)
    assert longest_h <= int(told) < longest_h + 1
    assert sum(DELAYS, timedelta()) > timedelta(days=3)
    assert "Do nothing for up to three days" in PROSE


def test_every_event_and_state_is_told() -> None:
    assert [row[0].strip("`") for row in rows("| event | when | `data` |")] == [*EVENTS, TEST]
    for event, says, _ in rows("| event | when | `data` |")[:-1]:
        assert says == EVENTS[event.strip("`")]
    assert [row[0].strip("`") for row in rows("| state | means |")] == list(STATES)


def test_the_message_that_is_shown_is_one() -> None:
    ((_, text),) = blocks(PAGE, "json")
    shown, real = json.loads(text), payloads()["procedure.issued"]
    assert shown["type"] == real["type"]
    assert shown["data"].keys() == real["data"].keys()
    assert re.sub(r"\d", "0", shown["timestamp"]) == re.sub(r"\d", "0", real["timestamp"])


REFUSED = re.findall(r"`(https?://[^`]+)`", TEXT.partition("| `url` | why not |")[2].partition("\n\n")[0])


@pytest.mark.parametrize("url", REFUSED)
def test_what_the_page_calls_refused_is_refused_by_the_guard_and_by_the_call(
    client: FlaskClient, url: str
) -> None:
    with pytest.raises(AddressRefused):
        refuse_url(url, Settings.webhook_networks)
    assert client.post(PATH, json=asked(url)).status_code == 422


def test_the_page_names_enough_of_what_is_refused() -> None:
    assert len(REFUSED) >= 8
