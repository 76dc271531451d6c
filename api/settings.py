"""What a running service can be told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from rules.loading import BASE_PACK


@dataclass(frozen=True)
class Settings:
    """`database_url` as SQLAlchemy writes it; `pack_folder` holds the rule pack or the overlay to use.

    A request body may have `max_body_bytes`, that of a rule pack `max_pack_bytes`. The pack of the folder
    is in force where the database does not say otherwise.
    """

    database_url: str = "sqlite:///stagewright.sqlite3"
    pack_folder: Path = BASE_PACK
    max_body_bytes: int = 262_144
    max_pack_bytes: int = 8_388_608
