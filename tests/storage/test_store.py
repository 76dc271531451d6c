import json
from base64 import urlsafe_b64encode
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rules.pack import Pack
from storage.faults import CursorRefused, DifferentDocument, PackNotKept
from storage.records import KeptProcedure, StatedFacts, json_text
from storage.shops import LOCAL
from storage.store import Store, open_store

Issue = Callable[..., KeptProcedure]

STATED = StatedFacts("TPO", {"damage_length_mm": 80.0})

scalars = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
texts = st.text(st.characters(), max_size=12)  # lone surrogates and NUL among them
documents = st.dictionaries(
    texts,
    st.recursive(
        scalars | texts, lambda inner: st.lists(inner) | st.dictionaries(texts, inner), max_leaves=8
    ),
)


def test_a_procedure_comes_back_as_it_was_kept(store: Store, issue: Issue) -> None:
    procedure = issue(totals={"work_min": {"p50": 71.5}}, title="Grind a V-groove, 60° to 90°")
    kept = store.keep_procedure(LOCAL, procedure, STATED)
    assert kept.issued_at is not None
    assert kept == replace(procedure, issued_at=kept.issued_at)
    assert store.procedure(LOCAL, procedure.id) == kept


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(document=documents)
def test_no_byte_of_any_document_is_lost(store: Store, issue: Issue, document: dict[str, object]) -> None:
    procedure = replace(issue(), document=document)
    kept = store.keep_procedure(LOCAL, procedure, STATED)
    assert json_text(kept.document) == json_text(document)


def test_members_keep_their_order(store: Store, issue: Issue) -> None:
    procedure = issue(zinc=1, alpha=2)
    store.keep_procedure(LOCAL, procedure, STATED)
    read = store.procedure(LOCAL, procedure.id)
    assert read is not None
    assert json.dumps(read.document) == '{"disposition": "repair", "zinc": 1, "alpha": 2}'


def test_an_unknown_procedure_is_none(store: Store) -> None:
    assert store.procedure(LOCAL, "pr-" + "0" * 32) is None


def test_keeping_the_same_procedure_again_returns_the_kept_one(store: Store, issue: Issue) -> None:
    procedure = issue()
    first = store.keep_procedure(LOCAL, procedure, STATED)
    assert store.keep_procedure(LOCAL, procedure, STATED) == first


def test_other_content_under_a_kept_id_is_refused_and_changes_nothing(store: Store, issue: Issue) -> None:
    kept = store.keep_procedure(LOCAL, issue(reference=uuid4().hex), STATED)
    forged = replace(kept, document={**kept.document, "disposition": "replace"}, reference=uuid4().hex)
    with pytest.raises(DifferentDocument, match=kept.id):
        store.keep_procedure(LOCAL, forged, STATED)
    assert store.procedure(LOCAL, kept.id) == kept
    assert store.procedures_of(LOCAL, forged.reference, limit=5).items == ()


def test_links_may_change_with_the_service_but_the_issued_ones_stay(store: Store, issue: Issue) -> None:
    kept = store.keep_procedure(LOCAL, issue(links={"self": "/v1/procedures/x"}), STATED)
    moved = replace(kept, document={**kept.document, "links": {"self": "/v2/procedures/x"}})
    assert store.keep_procedure(LOCAL, moved, STATED) == kept


def test_a_procedure_of_a_pack_that_is_not_kept_is_refused(store: Store, issue: Issue) -> None:
    orphan = replace(issue(), pack_digest="sha256:unknown")
    with pytest.raises(PackNotKept, match="sha256:unknown"):
        store.keep_procedure(LOCAL, orphan, STATED)
    assert store.procedure(LOCAL, orphan.id) is None


def test_two_threads_keep_the_same_procedure_once(store: Store, issue: Issue) -> None:
    procedure = issue(reference=uuid4().hex)
    together = Barrier(2)

    def keep() -> KeptProcedure:
        together.wait()
        return store.keep_procedure(LOCAL, procedure, STATED)

    with ThreadPoolExecutor(2) as threads:
        first, second = (running.result() for running in [threads.submit(keep), threads.submit(keep)])
    assert first == second
    assert store.procedures_of(LOCAL, procedure.reference, limit=5).items == (first,)


def test_what_is_kept_outlives_the_store(database_url: str, pack: Pack, issue: Issue) -> None:
    store = open_store(database_url)
    store.keep_pack(pack)
    kept = store.keep_procedure(LOCAL, issue(), STATED)
    store.close()
    again = open_store(database_url)
    assert again.procedure(LOCAL, kept.id) == kept
    again.close()


def test_the_procedures_of_a_line_item_come_page_by_page_newest_first(store: Store, issue: Issue) -> None:
    reference = uuid4().hex
    issued = [store.keep_procedure(LOCAL, issue(reference), STATED) for _ in range(5)]
    store.keep_procedure(LOCAL, issue("another line item"), STATED)
    seen: list[KeptProcedure] = []
    cursor = None
    for size in (2, 2, 1):
        page = store.procedures_of(LOCAL, reference, limit=2, after=cursor)
        assert len(page.items) == size
        seen += page.items
        cursor = page.next_cursor
    assert cursor is None
    assert seen == issued[::-1]


def test_a_page_is_not_shifted_by_what_is_issued_meanwhile(store: Store, issue: Issue) -> None:
    reference = uuid4().hex
    issued = [store.keep_procedure(LOCAL, issue(reference), STATED) for _ in range(4)]
    first = store.procedures_of(LOCAL, reference, limit=2)
    store.keep_procedure(LOCAL, issue(reference), STATED)
    second = store.procedures_of(LOCAL, reference, limit=2, after=first.next_cursor)
    assert list(first.items + second.items) == issued[::-1]


def test_what_was_issued_last_comes_first_even_when_it_was_issued_before(store: Store, issue: Issue) -> None:
    """A line item is changed and changed back: its present procedure is the one on top."""
    reference = uuid4().hex
    before, changed = (store.keep_procedure(LOCAL, issue(reference), STATED) for _ in range(2))
    store.keep_procedure(LOCAL, before, STATED)
    assert store.procedures_of(LOCAL, reference, limit=5).items == (before, changed)


def cursor_of(*parts: object) -> str:
    return urlsafe_b64encode(json.dumps(list(parts)).encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "cursor",
    [
        "",
        "x",
        "é",
        cursor_of(),
        cursor_of(1, 2),
        cursor_of("now", "pr-1"),
        cursor_of("2027-01-01", "pr-1"),
        cursor_of("0001-01-01T00:00:00+14:00", "pr-1"),
        cursor_of("2027-01-01T00:00:00+00:00", "pr-\0"),
        cursor_of("2027-01-01T00:00:00+00:00", "pr-1") + "=",
    ],
)
def test_a_foreign_cursor_is_refused(store: Store, cursor: str) -> None:
    with pytest.raises(CursorRefused, match="use the one of the page before"):
        store.procedures_of(LOCAL, "RO-20417-3", limit=2, after=cursor)


def test_a_pack_is_kept_whole_in_the_order_it_was_laid(store: Store, pack: Pack) -> None:
    store.keep_pack(pack)
    files = store.pack_files(pack.digest)
    assert files == pack.files
    assert files is not None
    assert list(files) == ["invented", "shop"]
    assert list(files["shop"]) == ["z.yaml", "a.yaml"]


def test_an_unknown_pack_is_none(store: Store) -> None:
    assert store.pack_files("sha256:unknown") is None


def test_a_store_that_answers_is_ready(store: Store) -> None:
    store.ready()
