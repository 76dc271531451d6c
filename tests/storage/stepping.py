"""A database brought to a step of its migrations, up or down."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from storage import migrations


def step_to(engine: sa.Engine, revision: str) -> None:
    """Every later step is taken back, every earlier one made."""
    with engine.connect() as connection, connection.begin():
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        present = connection.scalar(sa.text("SELECT version_num FROM alembic_version"))
        move = command.upgrade if revision == "head" or revision > (present or "") else command.downgrade
        move(config, revision)
