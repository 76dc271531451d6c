"""Webhooks: made, changed, removed; their secrets shown once, and each signing until its own end."""

from __future__ import annotations

import json
from base64 import b64decode
from datetime import datetime, timedelta

import pytest
from webhooks_kept import HOUR, URL, claim, happen, log, now, webhook

from rules.pack import Pack
from storage.audit import Who
from storage.faults import (
    EventsRefused,
    TooManyWebhooks,
    WebhookChanged,
    WebhookDisabled,
    WebhookUnknown,
)
from storage.shops import LOCAL
from storage.store import Store
from storage.tables import audit
from storage.webhook_records import BY_REQUEST, ISSUED, REPORTED, SUPERSEDED, TEST, DeliveryState, Webhook
from storage.webhook_secrets import MOST_BEFORE, as_text, holding, rotated
from storage.webhooks import GRACE, MOST

NORTH = "north"
BY = Who(LOCAL, "k3vq7m2a")


def secrets_of(store: Store, of: Webhook) -> tuple[str, ...]:
    """What the next event is signed with."""
    store.webhooks.test(of.shop, of.id)
    made = claim(store, of)
    store.webhooks.change(of.shop, of.id, enabled=False)
    store.webhooks.change(of.shop, of.id, enabled=True)
    return made.secrets


def entries(store: Store) -> list[dict[str, object]]:
    with store._engine.connect() as connection:
        found = connection.execute(audit.select().order_by(audit.c.number)).all()
    return [json.loads(row.entry) for row in found if '"webhook.' in row.entry]


def test_a_webhook_is_found_by_its_shop_alone(empty_store: Store) -> None:
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    made = empty_store.webhooks.create(LOCAL, URL, [SUPERSEDED, ISSUED, ISSUED], "front desk")
    found = empty_store.webhooks.find(LOCAL, made.webhook.id)
    assert found == made.webhook
    assert found.events == (ISSUED, SUPERSEDED)
    assert (found.url, found.description, found.enabled) == (URL, "front desk", True)
    assert empty_store.webhooks.all(LOCAL) == (found,)
    assert empty_store.webhooks.find(NORTH, found.id) is None
    assert empty_store.webhooks.all(NORTH) == ()
    for reach in (
        lambda: empty_store.webhooks.change(NORTH, found.id, enabled=False),
        lambda: empty_store.webhooks.remove(NORTH, found.id),
        lambda: empty_store.webhooks.rotate(NORTH, found.id),
        lambda: empty_store.webhooks.test(NORTH, found.id),
        lambda: empty_store.deliveries.replay_ended(NORTH, found.id),
    ):
        with pytest.raises(WebhookUnknown):
            reach()
    assert empty_store.webhooks.all(LOCAL) == (found,)


def test_a_secret_is_long_is_no_other_and_is_not_shown_by_accident(empty_store: Store) -> None:
    made = [empty_store.webhooks.create(LOCAL, URL, [ISSUED]) for _ in range(2)]
    first, second = (each.secret for each in made)
    assert first != second
    assert first.startswith("whsec_")
    assert len(b64decode(first.removeprefix("whsec_"), validate=True)) == 32
    empty_store.webhooks.test(LOCAL, made[0].webhook.id)
    claimed = claim(empty_store, made[0].webhook)
    assert claimed.secrets == (first,)
    for shown in (made[0], claimed, empty_store.webhooks.all(LOCAL), entries(empty_store)):
        assert first.removeprefix("whsec_") not in repr(shown)


@pytest.mark.parametrize("events", [[], ["procedure.unheard"], [ISSUED, TEST], ["procedure.issued "]])
def test_only_events_that_there_are_can_be_wanted(empty_store: Store, events: list[str]) -> None:
    with pytest.raises(EventsRefused, match=r"procedure\.superseded"):
        empty_store.webhooks.create(LOCAL, URL, events)
    kept = webhook(empty_store)
    with pytest.raises(EventsRefused):
        empty_store.webhooks.change(LOCAL, kept.id, events=events)
    assert empty_store.webhooks.all(LOCAL) == (kept,)


def test_a_shop_has_so_many_webhooks_and_no_more(empty_store: Store) -> None:
    empty_store.shops.create(NORTH, "The shop in the north", "command line")
    kept = [webhook(empty_store) for _ in range(MOST)]
    with pytest.raises(TooManyWebhooks, match=str(MOST)):
        webhook(empty_store)
    webhook(empty_store, shop=NORTH)
    empty_store.webhooks.remove(LOCAL, kept[0].id)
    webhook(empty_store)


def test_what_is_named_is_changed_and_the_rest_stays(empty_store: Store) -> None:
    kept = empty_store.webhooks.create(LOCAL, URL, [ISSUED], "front desk").webhook
    changed = empty_store.webhooks.change(LOCAL, kept.id, events=[REPORTED])
    assert (changed.url, changed.events, changed.description) == (URL, (REPORTED,), "front desk")
    changed = empty_store.webhooks.change(LOCAL, kept.id, url="https://other.example/", description="")
    assert (changed.url, changed.events, changed.description) == (
        "https://other.example/",
        (REPORTED,),
        None,
    )
    assert empty_store.webhooks.find(LOCAL, kept.id) == changed


def test_who_has_seen_another_webhook_changes_nothing(empty_store: Store, pack: Pack) -> None:
    seen = webhook(empty_store)
    changed = empty_store.webhooks.change(LOCAL, seen.id, events=[REPORTED], seen=seen)
    for late in (
        lambda: empty_store.webhooks.change(LOCAL, seen.id, url="https://late.example/", seen=seen),
        lambda: empty_store.webhooks.remove(LOCAL, seen.id, seen=seen),
    ):
        with pytest.raises(WebhookChanged):
            late()
    assert empty_store.webhooks.find(LOCAL, seen.id) == changed
    empty_store.webhooks.test(LOCAL, seen.id)
    claim(empty_store, seen)
    empty_store.webhooks.remove(LOCAL, seen.id, seen=changed)


def test_a_disabled_webhook_stops_what_waits_and_hears_nothing(empty_store: Store, pack: Pack) -> None:
    kept = webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1")
    disabled = empty_store.webhooks.change(LOCAL, kept.id, enabled=False)
    assert disabled.disabled_because == BY_REQUEST
    assert disabled.disabled_at is not None
    happen(empty_store, pack, "R2")
    (delivery,) = log(empty_store, kept)
    assert (delivery.state, delivery.due_at) == (DeliveryState.STOPPED, None)
    assert delivery.ended_at is not None
    assert empty_store.claims.to_be_served(now()) == []
    with pytest.raises(WebhookDisabled):
        empty_store.webhooks.test(LOCAL, kept.id)
    enabled = empty_store.webhooks.change(LOCAL, kept.id, enabled=True)
    assert (enabled.disabled_at, enabled.disabled_because) == (None, None)
    happen(empty_store, pack, "R3")
    assert [each.reference for each in log(empty_store, kept)] == ["R1", "R3"]


def test_removing_takes_the_log_along(empty_store: Store, pack: Pack) -> None:
    kept, other = webhook(empty_store, ISSUED), webhook(empty_store, ISSUED)
    happen(empty_store, pack, "R1")
    claim(empty_store, kept)
    empty_store.webhooks.remove(LOCAL, kept.id)
    assert empty_store.webhooks.find(LOCAL, kept.id) is None
    assert log(empty_store, kept) == ()
    assert len(log(empty_store, other)) == 1


def test_a_test_is_told_whatever_the_webhook_wants(empty_store: Store) -> None:
    kept, other = webhook(empty_store, REPORTED), webhook(empty_store)
    made = empty_store.webhooks.test(LOCAL, kept.id)
    assert empty_store.deliveries.find(LOCAL, kept.id, made.event_id) == made
    assert (made.event, made.reference, made.procedure_id) == (TEST, None, None)
    assert log(empty_store, other) == ()


def test_both_secrets_sign_until_the_grace_ends(empty_store: Store) -> None:
    made = empty_store.webhooks.create(LOCAL, URL, [ISSUED])
    rotated_now = empty_store.webhooks.rotate(LOCAL, made.webhook.id)
    until = rotated_now.webhook.previous_secret_until
    assert until is not None
    assert abs(until - now() - GRACE) < HOUR
    assert secrets_of(empty_store, made.webhook) == (rotated_now.secret, made.secret)


def test_without_grace_no_secret_before_signs(empty_store: Store) -> None:
    made = empty_store.webhooks.create(LOCAL, URL, [ISSUED])
    empty_store.webhooks.rotate(LOCAL, made.webhook.id)
    last = empty_store.webhooks.rotate(LOCAL, made.webhook.id, timedelta(0))
    assert last.webhook.previous_secret_until is None
    assert secrets_of(empty_store, made.webhook) == (last.secret,)


def test_rotating_twice_takes_no_secret_away_early(empty_store: Store) -> None:
    made = empty_store.webhooks.create(LOCAL, URL, [ISSUED])
    second = empty_store.webhooks.rotate(LOCAL, made.webhook.id, 48 * HOUR)
    third = empty_store.webhooks.rotate(LOCAL, made.webhook.id, HOUR)
    assert third.webhook.previous_secret_until == second.webhook.previous_secret_until
    assert secrets_of(empty_store, made.webhook) == (third.secret, second.secret, made.secret)


def test_every_secret_ends_when_it_was_said_to() -> None:
    at = datetime.fromisoformat("2027-03-02T08:15:00+00:00")
    text = rotated(as_text([("one", None)]), "two", 3 * HOUR, at)
    text = rotated(text, "three", HOUR, at + HOUR)
    for hours, names in ((1, ["three", "two", "one"]), (2, ["three", "one"]), (3, ["three"])):
        assert [secret for secret, _ in holding(text, at + hours * HOUR)] == names
    assert [secret for secret, _ in holding(text, at + 100 * HOUR)] == ["three"]


def test_there_are_never_more_signatures_than_that() -> None:
    text, at = as_text([("0", None)]), now()
    for number in range(1, 10):
        text = rotated(text, str(number), HOUR, at)
    assert [secret for secret, _ in holding(text, at)] == ["9", "8", "7", "6", "5"]
    assert len(json.loads(text)) == 1 + MOST_BEFORE


def test_every_change_is_in_the_audit_with_who_asked_and_without_the_path(empty_store: Store) -> None:
    kept = empty_store.webhooks.create(LOCAL, URL, [ISSUED], by=BY).webhook
    empty_store.webhooks.change(LOCAL, kept.id, events=[REPORTED], by=BY)
    empty_store.webhooks.change(LOCAL, kept.id, events=[REPORTED], by=BY)
    empty_store.webhooks.rotate(LOCAL, kept.id, by=BY)
    empty_store.webhooks.remove(LOCAL, kept.id, by=BY)
    told = entries(empty_store)
    assert [each["action"] for each in told] == [
        "webhook.created",
        "webhook.changed",
        "webhook.rotated",
        "webhook.removed",
    ]
    assert all(each["by"] == {"shop": LOCAL, "key": "k3vq7m2a"} for each in told)
    assert all(each["host"] == "shop.example" for each in told)
    assert "endpoint-own" not in json.dumps(told)
    assert empty_store.audit.verify().faults == ()
