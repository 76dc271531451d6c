"""Settings from the environment; all that is wrong with them is told at once.

`VARIABLES` is the whole list; docs/operation.md shows the same one.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from api.events.addresses import networks_of
from api.events.queue import QueueRefused, refuse_queue
from api.keys.loopback import is_loopback
from api.limiting.quota import Quota, QuotaRefused
from api.running import telemetry
from api.settings import Settings
from storage.database import engine_for
from storage.faults import StoreUnavailable

PREFIX = "STAGEWRIGHT_"
FOR_TESTS = "STAGEWRIGHT_TEST_"

Read = Callable[[str], Any]
"""From the text of a variable to its value. Raises ValueError, which says what it takes."""


class SettingsRefused(ValueError):
    """What cannot be used, one sentence for each."""

    def __init__(self, errors: list[str]) -> None:
        super().__init__("\n".join(errors))
        self.errors = errors


@dataclass(frozen=True)
class Variable:
    """One variable of the environment, the member of Settings that it fills, and what it is about."""

    name: str
    fills: str
    read: Read
    about: str


def settings_from(environment: Mapping[str, str], **options: Any) -> Settings:
    """The settings by `options` of the command line, else by the environment, else as they are.

    An option that is None was not given; a variable that is empty is not set. Raises SettingsRefused.
    """
    given = {name: value for name, value in options.items() if value is not None}
    errors = list(_unknown(environment))
    for variable in VARIABLES:
        text = environment.get(variable.name)
        if text and variable.fills not in given:
            try:
                given[variable.fills] = variable.read(text)
            except ValueError as error:
                errors.append(f"{variable.name} {error}")
    settings = Settings(**{"telemetry": telemetry.asked_for(environment), **given})
    if settings.telemetry:
        errors += telemetry.refusals(environment)
    if settings.without_keys and not is_loopback(settings.host):
        by = "--host" if options.get("host") is not None else "STAGEWRIGHT_LISTEN_HOST"
        told = f"{by} {settings.host} may be reached from others; use {by} 127.0.0.1"
        errors.append(f"an open service is for this machine alone, and {told}")
    if errors:
        raise SettingsRefused(errors)
    return settings


def _unknown(environment: Mapping[str, str]) -> Iterator[str]:
    known = [variable.name.removeprefix(PREFIX) for variable in VARIABLES]
    for name in sorted(environment):
        rest = name.removeprefix(PREFIX)
        if rest == name or name.startswith(FOR_TESTS) or rest in known:
            continue
        near = get_close_matches(rest, known, 1)
        yield f"{name} is not a setting; " + (f"did you mean {PREFIX}{near[0]}?" if near else "remove it")


def _database(text: str) -> str:
    try:
        engine_for(text).dispose()
    except StoreUnavailable as error:
        # Without the text: it may hold a password.
        raise ValueError(f"can't be used: {error}") from None
    return text


def _folder(text: str) -> Path:
    if not os.path.isdir(text):  # False also for what no file can be called
        raise ValueError(f"is '{text}', and there is no such folder; name one with a pack.yaml")
    return Path(text)


def _counted_in(text: str) -> str:
    try:
        Quota(1, 1, text)
    except QuotaRefused as error:
        # Without the text, likewise.
        raise ValueError(f"can't be used: {error}") from None
    return text


def _queue(text: str) -> str:
    try:
        refuse_queue(text)
    except QueueRefused as error:
        # Without the text, likewise.
        raise ValueError(f"can't be used: {error}") from None
    return text


def _networks(text: str) -> Any:
    try:
        return networks_of(text)
    except ValueError as error:
        told = f"{error}; it takes networks separated by commas, such as 10.1.0.0/16,fd00:1::/32"
        raise ValueError(f"can't be used: {told}") from None


def _whole(least: int, most: int) -> Read:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdecimal() and len(text) < 20 and least <= int(text) <= most):
            raise ValueError(f"is '{text}'; it takes a whole number from {least} to {most}")
        return int(text)

    return read


def _one_of(values: Mapping[str, Any]) -> Read:
    def read(text: str) -> Any:
        if text not in values:
            raise ValueError(f"is '{text}'; it takes {' or '.join(values)}")
        return values[text]

    return read


VARIABLES = (
    Variable(
        "STAGEWRIGHT_DATABASE",
        "database_url",
        _database,
        "Where everything is kept: `sqlite:///FILE` or `postgresql+psycopg://USER@HOST/NAME`.",
    ),
    Variable(
        "STAGEWRIGHT_PACK",
        "pack_folder",
        _folder,
        "The folder of the rule pack to begin with, where the database names none; else the base pack.",
    ),
    Variable(
        "STAGEWRIGHT_OPEN",
        "without_keys",
        _one_of({"yes": True, "no": False}),
        "`yes`: nobody is asked for a key, and this machine alone is served.",
    ),
    Variable("STAGEWRIGHT_LISTEN_HOST", "host", str, "The address to listen on."),
    Variable(
        "STAGEWRIGHT_LISTEN_PORT",
        "port",
        _whole(0, 65_535),
        "The port to listen on; 0 takes any free one.",
    ),
    Variable(
        "STAGEWRIGHT_THREADS",
        "threads",
        _whole(1, 64),
        "How many requests a process answers at once.",
    ),
    Variable(
        "STAGEWRIGHT_WORKERS",
        "workers",
        _whole(1, 64),
        "How many processes answer, under gunicorn.",
    ),
    Variable(
        "STAGEWRIGHT_MAX_BODY_BYTES",
        "max_body_bytes",
        _whole(1_024, 67_108_864),
        "How large the body of a request may be.",
    ),
    Variable(
        "STAGEWRIGHT_MAX_PACK_BYTES",
        "max_pack_bytes",
        _whole(1_024, 67_108_864),
        "How large an uploaded rule pack may be.",
    ),
    Variable(
        "STAGEWRIGHT_MAX_BATCH_BYTES",
        "max_batch_bytes",
        _whole(1_024, 67_108_864),
        "How large a batch of line items may be.",
    ),
    Variable(
        "STAGEWRIGHT_RATE_LIMIT",
        "rate_limit",
        _whole(0, 1_000_000),
        "How many requests a shop may make in a window; a batch counts its line items. 0: no limit.",
    ),
    Variable(
        "STAGEWRIGHT_RATE_WINDOW_S",
        "rate_window_s",
        _whole(1, 86_400),
        "The window of STAGEWRIGHT_RATE_LIMIT, in seconds.",
    ),
    Variable(
        "STAGEWRIGHT_RATE_STORAGE",
        "rate_storage",
        _counted_in,
        "Where requests are counted: `memory://`, each process for itself, or `redis://HOST:PORT/NUMBER`.",
    ),
    Variable(
        "STAGEWRIGHT_KEY_FAILURES",
        "key_failures",
        _whole(0, 1_000_000),
        "How often in a minute an address may ask without a key that holds. 0: as often as it likes.",
    ),
    Variable(
        "STAGEWRIGHT_MAX_PACKS_OF_SHOP",
        "max_packs_of_shop",
        _whole(1, 10_000),
        "How many rule packs a shop may keep; the shop `local` as many as it likes.",
    ),
    Variable(
        "STAGEWRIGHT_SHOP_PACKS_IN_MEMORY",
        "shop_packs_in_memory",
        _whole(1, 1_000),
        "Of how many shops with rules of their own a process keeps them ready; some 10 MB each.",
    ),
    Variable(
        "STAGEWRIGHT_QUEUE",
        "queue_url",
        _queue,
        "What workers share: `sqlite:///FILE` on one machine, `redis://HOST:PORT/NUMBER` on several.",
    ),
    Variable(
        "STAGEWRIGHT_SENDERS",
        "senders",
        _whole(1, 64),
        "How many webhooks a worker serves at once.",
    ),
    Variable(
        "STAGEWRIGHT_WEBHOOK_TIMEOUT_S",
        "webhook_timeout_s",
        _whole(1, 60),
        "How long an endpoint has for its answer, in seconds.",
    ),
    Variable(
        "STAGEWRIGHT_WEBHOOK_NETWORKS",
        "webhook_networks",
        _networks,
        "Networks that webhooks may lead to though they are not public, such as `10.1.0.0/16`, with commas.",
    ),
    Variable(
        "STAGEWRIGHT_LOG_FORMAT",
        "log_format",
        _one_of({"json": "json", "text": "text"}),
        "`json`: one JSON object a line. `text`: lines for people.",
    ),
    Variable(
        "STAGEWRIGHT_TELEMETRY",
        "telemetry",
        _one_of({"yes": True, "no": False}),
        "`yes`: traces are sent to OpenTelemetry. `no`: none are.",
    ),
)
