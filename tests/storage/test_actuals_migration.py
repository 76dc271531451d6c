from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from kept_versions import CRACK

from planning.learning.model import Spell
from rules.pack import Pack
from storage import migrations
from storage.actual_records import Report
from storage.records import KeptProcedure
from storage.shops import LOCAL
from storage.store import Store

TABLES = {"actuals", "estimates"}


def step(store: Store, to: str, move: Callable[[Config, str], None]) -> set[str]:
    """The tables after a move to a step."""
    with store._engine.connect() as connection, connection.begin():
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        move(config, to)
    return set(sa.inspect(store._engine).get_table_names())


def test_reports_come_and_go_with_their_step_and_procedures_stay(
    empty_store: Store, pack: Pack, issue: Callable[..., KeptProcedure]
) -> None:
    empty_store.keep_pack(pack)
    procedure_id = empty_store.keep_procedure(LOCAL, issue(), CRACK).id
    report = Report("groove", Spell(22.0), 20.0, 0.3)
    empty_store.actuals.keep(LOCAL, procedure_id, [report])
    assert not TABLES & step(empty_store, "0003", command.downgrade)
    assert empty_store.procedure(LOCAL, procedure_id) is not None
    assert step(empty_store, "head", command.upgrade) >= TABLES
    assert empty_store.actuals.of_procedure(LOCAL, procedure_id).items == ()
    (taken,) = empty_store.actuals.keep(LOCAL, procedure_id, [report])
    assert taken.actual.report == report
    assert empty_store.estimates.of_shop(LOCAL)["groove"].sums.count == 1
