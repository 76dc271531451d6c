"""What hangs on a report or on an activation is looked for where those are removed."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"

_INDEXES = {
    "actuals_by_replacement": ("actuals", "replaced_by"),
    "outbox_by_activation": ("outbox", "activation"),
}


def upgrade() -> None:
    for name, (table, column) in _INDEXES.items():
        # Most rows name none.
        only = sa.text(f"{column} IS NOT NULL")
        op.create_index(name, table, [column], sqlite_where=only, postgresql_where=only)


def downgrade() -> None:
    for name, (table, _) in _INDEXES.items():
        op.drop_index(name, table)
