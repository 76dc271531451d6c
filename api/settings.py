"""What a running service can be told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from rules.loading import BASE_PACK


@dataclass(frozen=True)
class Settings:
    """`database_url` as SQLAlchemy writes it; `pack_folder` holds the rule pack or the overlay to use.

    A request body may have `max_body_bytes`, that of a rule pack `max_pack_bytes`, that of a batch
    `max_batch_bytes`. The pack of the folder is in force where the database does not say otherwise.
    `without_keys`: nobody is asked for a key, and everything belongs to the shop `local`; for this
    machine alone. The service listens on `host` and `port` and answers `threads` requests at once, under
    gunicorn in each of `workers` processes. The log is written as `log_format` says, `json` or `text`. A
    shop may make `rate_limit` requests in `rate_window_s` seconds, 0: as many as it likes; they are
    counted in `rate_storage`.
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
    rate_limit: int = 0
    rate_window_s: int = 60
    rate_storage: str = "memory://"
