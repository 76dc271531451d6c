"""What a running service can be told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from api.events.addresses import Network
from rules.loading import BASE_PACK


@dataclass(frozen=True)
class Settings:
    """`database_url` as SQLAlchemy writes it; `pack_folder` holds the rule pack or the overlay to use.

    A request body may have `max_body_bytes`, that of a rule pack `max_pack_bytes`, that of a batch
    `max_batch_bytes`. The pack of the folder is in force where the database does not say otherwise.
    `without_keys`: nobody is asked for a key, and everything belongs to the shop `local`; for this
    machine alone. The service listens on `host` and `port` and answers `threads` requests at once, under
    gunicorn in each of `workers` processes. The log is written as `log_format` says, `json` or `text`.
    `telemetry`: a trace of every request is sent, as the OTEL_ variables of the environment say. A shop
    keeps at most `max_packs_of_shop` rule packs; a process has those of `shop_packs_in_memory` shops ready
    that have put one of their own in force. A shop may make `rate_limit` requests in `rate_window_s` seconds,
    0: as many as it likes, and an address `key_failures` in a minute without a key that holds, likewise; they
    are counted in `rate_storage`. A worker serves `senders` webhooks at once
    from the queue at `queue_url`; a request to one ends after `webhook_timeout_s`, and goes to public
    addresses and `webhook_networks` alone.
    """

    database_url: str = "sqlite:///stagewright.sqlite3"
    pack_folder: Path = BASE_PACK
    max_body_bytes: int = 262_144
    max_pack_bytes: int = 8_388_608
    max_batch_bytes: int = 4_194_304
    without_keys: bool = False
    host: str = "127.0.0.1"
    port: int = 8080
    threads: int = 4
    workers: int = 2
    log_format: str = "json"
    telemetry: bool = False
    rate_limit: int = 0
    rate_window_s: int = 60
    rate_storage: str = "memory://"
    key_failures: int = 60
    max_packs_of_shop: int = 100
    shop_packs_in_memory: int = 16
    queue_url: str = "sqlite:///stagewright-queue.sqlite3"
    senders: int = 8
    webhook_timeout_s: int = 20
    webhook_networks: tuple[Network, ...] = ()
