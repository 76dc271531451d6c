"""`stagewright keys`: who may ask the service for what."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import click

from api.commands.stores import ORIGIN, database_option, echo_table, opened
from api.commands.times import Moment
from storage.faults import KeyEnded, KeyUnknown, ScopesRefused, ShopRefused
from storage.key_records import SCOPES, Key, WrittenKey
from storage.shops import LOCAL

GRACE = timedelta(days=1)
COLUMNS = ("prefix", "shop", "scopes", "state", "expires", "last used", "name")


@click.group()
def keys() -> None:
    """The keys with which shop software asks the service.

    Of a key only a digest is kept: it is shown once, when it is made.

    Example: stagewright keys create --name "front desk" --scope line-items
    """


@keys.command()
@click.option("--name", required=True, help="What it is used by, for people.")
@click.option(
    "--scope",
    "scopes",
    type=click.Choice(list(SCOPES)),
    multiple=True,
    required=True,
    help="What it is for; may be given several times.",
)
@click.option("--shop", default=LOCAL, show_default=True, help="The shop that it works for.")
@click.option("--expires", type=Moment(), metavar="TIME", help="When it ends, with offset; else never.")
@click.option("--sandbox", is_flag=True, help="For trying out: it works in the sandbox of the shop.")
@database_option
def create(
    name: str, scopes: tuple[str, ...], shop: str, expires: datetime | None, sandbox: bool, database: str
) -> None:
    """Make a key, and write it to standard output, alone and this once.

    With --sandbox nothing that is done with it touches what the shop has.

    Example: stagewright keys create --name "front desk" --scope line-items > front-desk.key
    """
    with opened(database, ScopesRefused, ShopRefused) as store:
        written = store.keys.create(shop, name, scopes, ORIGIN, expires, sandbox)
    _hand_out(written)


@keys.command("list")
@click.option("--shop", help="Only those of this shop.")
@database_option
def list_(shop: str | None, database: str) -> None:
    """Show every key by its prefix, with what it is for and whether it holds.

    When a key was last used is true to the hour.

    Example: stagewright keys list --shop local
    """
    with opened(database) as store:
        found = store.keys.all(shop)
    now = datetime.now(UTC)
    echo_table(COLUMNS, [_row(key, now) for key in found], click.echo)


@keys.command()
@click.argument("prefix")
@database_option
def revoke(prefix: str, database: str) -> None:
    """Let a key hold no longer. A running service refuses it from its next request on.

    Example: stagewright keys revoke k3vq7m2a
    """
    with opened(database, KeyUnknown) as store:
        store.keys.revoke(prefix, ORIGIN)
    click.echo(f"{prefix}: revoked")


@keys.command()
@click.argument("prefix")
@click.option(
    "--until",
    type=Moment(),
    metavar="TIME",
    help="How long the old key holds beside the new one; a day if left out, `now` for no longer.",
)
@click.option(
    "--expires",
    type=Moment(),
    metavar="TIME",
    help="When the new key ends; else it holds as long.",
)
@database_option
def rotate(prefix: str, until: datetime | None, expires: datetime | None, database: str) -> None:
    """Make a key like an old one, which holds a while longer; write the new one to standard output.

    Example: stagewright keys rotate k3vq7m2a --until 2027-03-01T18:00:00+01:00 > front-desk.key
    """
    until = until or datetime.now(UTC) + GRACE
    with opened(database, KeyUnknown, KeyEnded) as store:
        written = store.keys.rotate(prefix, until, ORIGIN, expires)
    click.echo(f"{prefix} holds until {until:%Y-%m-%d %H:%M} UTC at the latest", err=True)
    _hand_out(written)


@keys.command("sandbox-reset")
@click.option("--shop", default=LOCAL, show_default=True, help="The shop whose sandbox it is.")
@database_option
def sandbox_reset(shop: str, database: str) -> None:
    """Empty the sandbox of a shop: its line items, reports, estimates and webhooks go. Its keys stay.

    Example: stagewright keys sandbox-reset --shop north
    """
    with opened(database) as store:
        store.sandbox_reset.empty(shop, ORIGIN)
    click.echo(f"{shop}: its sandbox is empty")


def _hand_out(written: WrittenKey) -> None:
    click.echo(f"the key with the prefix {written.prefix}; it is never shown again", err=True)
    click.echo(written.text)


def _row(key: Key, now: datetime) -> tuple[str, ...]:
    used, expires = _day(key.last_used_at, "%Y-%m-%d %H:00"), _day(key.expires_at, "%Y-%m-%d %H:%M")
    return key.prefix, key.shop, " ".join(key.scopes), _state(key, now), expires, used, key.name


def _state(key: Key, now: datetime) -> str:
    if key.revoked_at is not None:
        return "revoked"
    if not key.holds(now):
        return "expired"
    return "holds" if key.replaced_by is None else f"rotated to {key.replaced_by}"


def _day(at: datetime | None, form: str) -> str:
    return "-" if at is None else f"{at:{form}}"
