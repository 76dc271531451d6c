"""Which engine a pack gets, with and without durable-rules."""

from __future__ import annotations

import logging
import sys
from collections.abc import Iterator

import pytest
from strategies import boolean, pack_of, rule

from rules.conditions import OneOf
from rules.engines import choose
from rules.engines.choose import engine_for
from rules.engines.limits import EngineLimit
from rules.engines.reference import ReferenceEngine

PACK = pack_of([boolean("wet")], [rule("a", OneOf("wet", (True,)))])
ADAPTER = "rules.engines.durable_adapter"


@pytest.fixture(autouse=True)
def _choose_afresh() -> Iterator[None]:
    choose._engine_class.cache_clear()
    yield
    choose._engine_class.cache_clear()


def test_durable_rules_is_used_where_it_imports(caplog: pytest.LogCaptureFixture) -> None:
    pytest.importorskip("durable", reason="needs durable-rules")
    engine = engine_for(PACK)
    assert engine.name == "durable-rules"
    assert caplog.records == []
    engine.close()


@pytest.mark.parametrize("missing", ["durable", "durable.engine", "durable_rules_engine"])
def test_without_the_library_the_reference_answers_and_says_so_once(
    missing: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 11, 0, "final", 0))
    for name in [name for name in sys.modules if name == ADAPTER or name.startswith("durable")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, missing, None)
    engines = [engine_for(PACK), engine_for(PACK)]
    assert all(isinstance(engine, ReferenceEngine) for engine in engines)
    assert [record.levelno for record in caplog.records] == [logging.WARNING]
    assert "durable" in caplog.text


def test_on_a_python_it_does_not_run_on_the_library_is_not_imported(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 13, 0, "final", 0))
    monkeypatch.setitem(sys.modules, ADAPTER, None)
    assert engine_for(PACK).name == "reference"
    assert "Python 3.13" in caplog.text


def test_a_fault_of_our_own_is_not_taken_for_a_missing_library(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("durable", reason="needs durable-rules")
    monkeypatch.delitem(sys.modules, ADAPTER, raising=False)
    monkeypatch.setitem(sys.modules, "rules.engines.grouping", None)
    with pytest.raises(ImportError, match="grouping"):
        engine_for(PACK)


def test_a_pack_beyond_the_limits_is_refused_and_not_quietly_given_to_the_reference() -> None:
    pytest.importorskip("durable", reason="needs durable-rules")
    with pytest.raises(EngineLimit):
        engine_for(pack_of([boolean("wet")], [rule(f"r{n}", OneOf("wet", (True,))) for n in range(1001)]))
