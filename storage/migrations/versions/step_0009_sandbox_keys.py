"""Shops that are the sandbox of another one."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"

# In the id of a sandbox, behind that of its shop, and in no other id.
SUFFIX = "~sandbox"


def upgrade() -> None:
    # A reference that is added as a constraint of its own would have SQLite write the table anew.
    op.execute("ALTER TABLE shops ADD COLUMN sandbox_of VARCHAR(64) REFERENCES shops (id)")
    op.create_index("shops_by_sandbox", "shops", ["sandbox_of"], unique=True)
    shops = sa.table("shops", sa.column("id"), sa.column("sandbox_of"))
    of_shop = sa.func.replace(shops.c.id, SUFFIX, "")
    is_sandbox = shops.c.id.like(f"%{SUFFIX}")
    op.execute(shops.update().where(is_sandbox).values(sandbox_of=of_shop))


def downgrade() -> None:
    """Sandboxes become shops like any other, with keys that open nothing: nobody reads them as keys."""
    op.drop_index("shops_by_sandbox", "shops")
    op.drop_column("shops", "sandbox_of")
