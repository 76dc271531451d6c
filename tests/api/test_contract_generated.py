"""The service keeps the contract it publishes: requests made from it, of which `make fuzz` makes more."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked_client import snapshot
from generated_requests import DOMAIN_REFUSES, explore

from api.application import create_app
from api.packs import kept
from api.packs.documents import blank
from api.problem_types import PROBLEM_TYPES
from api.settings import Settings

EXAMPLES = 2
SEQUENCES = 3


def test_every_answer_to_generated_requests_keeps_the_contract(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept, "prove_apart", lambda _stack: blank("it takes seconds, so it is left out here"))
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    # Many requests are made without a key, each to be told so.
    app = create_app(Settings(database_url=url, without_keys=False, key_failures=0))
    outcome = explore(app, EXAMPLES, SEQUENCES)
    snapshot(app).store.close()
    assert not outcome.failures, outcome.report()
    assert outcome.cases.total() > 1000, outcome.report()
    assert {"COVERAGE", "FUZZING", "STATEFUL_TESTING"} <= outcome.cases.keys()


def test_what_the_domain_may_refuse_is_a_kind_of_problem() -> None:
    assert {refusal.slug for refusal in DOMAIN_REFUSES} <= {kind.slug for kind in PROBLEM_TYPES}
