"""That no table with something of a shop is forgotten where shops are exported or taken away."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from whole_shop import rows_of, whole_shop

from rules.pack import Pack
from storage.belongings import belongings, references_to, shared
from storage.exporting import LEFT_OUT
from storage.store import Store
from storage.tables import metadata, procedures, shops
from storage.tables.common import SECRET


def forgotten(known: sa.MetaData) -> list[str]:
    """The tables that hold something of a shop, by a column or by what they refer to, and are not found."""
    found = belongings(known)
    return [
        table.name
        for table in known.sorted_tables
        if table.name != shops.name
        and table not in found
        and (
            any(column.name in ("shop", "shop_id") for column in table.columns)
            or any(key.referred_table in found for key in table.foreign_key_constraints)
        )
    ]


def test_every_table_of_shops_says_so_by_its_foreign_keys() -> None:
    assert forgotten(metadata) == []
    assert {"procedures", "line_items", "api_keys", "deliveries"} <= {table.name for table in belongings()}
    assert [table.name for table in shared()] == ["packs", "stated_facts"]


@pytest.mark.parametrize(
    ("columns", "missed"),
    [
        ([sa.Column("shop", sa.String(64))], True),
        ([sa.Column("key_prefix", sa.ForeignKey("api_keys.prefix"))], True),
        ([sa.Column("shop", sa.ForeignKey("shops.id"))], False),
        ([sa.Column("whose", sa.ForeignKey("shops.id"))], False),
        (
            [
                sa.Column("shop", sa.String(64)),
                sa.Column("procedure_id", sa.String(80)),
                sa.ForeignKeyConstraint(["shop", "procedure_id"], ["procedures.shop", "procedures.id"]),
            ],
            False,
        ),
    ],
)
def test_a_table_that_comes_later_is_found_or_told_as_forgotten(
    columns: list[sa.schema.SchemaItem], missed: bool
) -> None:
    copied = sa.MetaData()
    for table in metadata.sorted_tables:
        table.to_metadata(copied)
    later = sa.Table("later", copied, sa.Column("number", sa.Integer, primary_key=True), *columns)
    assert forgotten(copied) == (["later"] if missed else [])
    assert (later in belongings(copied)) is not missed


def test_tables_come_before_those_that_refer_to_them() -> None:
    order = list(belongings())
    for table in order:
        for key in table.foreign_key_constraints:
            if key.referred_table in order and key.referred_table is not table:
                assert order.index(key.referred_table) < order.index(table)


def test_what_hangs_on_a_procedure_names_it_in_one_way_and_takes_along_what_hangs_on_itself() -> None:
    """So that the removal of old line items finds all of it."""
    hanging = [key.table for key in references_to(procedures)]
    assert {"line_items", "latest_procedures", "actuals", "outbox"} <= {table.name for table in hanging}
    for key in references_to(procedures):
        assert [column.name for column in key.columns] == ["shop", "procedure_id"]
    for table in hanging:
        for key in references_to(table):
            assert key.table is table or key.ondelete == "CASCADE"


FEW = {"api_keys", "kept_packs", "packs"}
"""Tables of which a shop has few rows, so that it may take a while to see that one hangs on nothing."""


def test_what_hangs_on_a_row_that_goes_is_found_by_an_index() -> None:
    """For each such row the database looks: without one, through all the rows of all shops."""
    unfound = [
        f"{key.table.name}{key.column_keys}"
        for table in (*belongings(), *shared(), shops)
        for key in references_to(table)
        if table.name not in FEW and not any(led_by(index, key) for index in indexes(key.table))
    ]
    assert unfound == []


def indexes(table: sa.Table) -> list[list[str]]:
    """The columns of each, those of keys and constraints too."""
    unique = (sa.PrimaryKeyConstraint, sa.UniqueConstraint)
    constraints = [each.columns.keys() for each in table.constraints if isinstance(each, unique)]
    return [*constraints, *(each.columns.keys() for each in table.indexes)]


def led_by(index: list[str], key: sa.ForeignKeyConstraint) -> bool:
    return set(index[: len(key.columns)]) == set(key.column_keys)


def test_what_is_secret_is_marked_as_such() -> None:
    marked = {
        f"{table.name}.{column.name}"
        for table in belongings()
        for column in table.columns
        if column.info == SECRET or table in LEFT_OUT
    }
    named = {
        f"{table.name}.{column.name}"
        for table in belongings()
        for column in table.columns
        if any(word in column.name for word in ("secret", "token")) and "until" not in column.name
    }
    assert named | {"api_keys.digest"} <= marked


def test_the_shop_of_these_tests_has_rows_in_every_table(empty_store: Store, pack: Pack) -> None:
    whole_shop(empty_store, pack, "north")
    assert all(rows_of(empty_store, "north").values()), rows_of(empty_store, "north")
