"""Requests made from the OpenAPI document, valid and invalid, single and in sequences; answers held to it."""

from __future__ import annotations

import json
import re
import socket
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread
from typing import Any

import schemathesis
from flask import Flask
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema

from api.packs import kept
from api.running.http_server import HttpServer
from api.settings import Settings
from api.snapshot import in_use
from storage.key_records import SCOPES
from storage.shops import LOCAL

CONFIG = Path(__file__).with_name("contract.toml")

REJECTED, ACCEPTED = "RejectedPositiveData", "AcceptedNegativeData"
"""The checks that a request which fits the document is taken, and one that does not is refused."""

BATCH, ANY = "create_procedures", "any operation"


@dataclass(frozen=True)
class Refusal:
    """A refusal that no schema can foresee: of which kind, at which places, and why it cannot."""

    operation: str
    slug: str
    why: str
    places: str = ".*"

    def covers(self, operation: str, problem: Mapping[str, Any]) -> bool:
        """Whether this is why an operation answers with a problem, at every place it names."""
        slug = problem["type"].rpartition("/")[2]
        named = [error.get("pointer", error.get("parameter", "")) for error in problem.get("errors", ())]
        return (
            self.operation in (operation, ANY)
            and slug == self.slug
            and all(re.fullmatch(self.places, place) for place in named)
        )


CURSOR = "only a cursor that this list gave out"
GUARDED = "which addresses may be sent to, their guard says"
DOMAIN_REFUSES = (
    Refusal(ANY, "idempotency-key-reused", "whether a key was used before, only the service knows"),
    Refusal("create_procedure", "facts-refused", "a fact may be stated only where it applies to the others"),
    Refusal("create_procedure", "material-unknown", "the words for materials are too many to list"),
    Refusal("create_procedure", "calendar-too-narrow", "whether the work fits the hours, the schedule tells"),
    Refusal(
        "create_procedure",
        "line-item-refused",
        "hours end after they begin, a calendar needs a start, and time zones are too many to list",
        "/calendar/hours/[0-9]+/until|/start_at|/calendar/time_zone",
    ),
    Refusal("identify_material", "facts-refused", "as with a line item"),
    Refusal("identify_material", "evidence-refused", "whether a marking says anything, its grammar tells"),
    Refusal("create_pack", "pack-refused", "what the files of a pack say is YAML inside of JSON"),
    Refusal("activate_pack", "body-refused", "a kept pack, and a moment to come", "/digest|/effective_from"),
    Refusal("create_webhook", "body-refused", GUARDED, "/url"),
    Refusal("change_webhook", "body-refused", GUARDED, "/url"),
    Refusal("list_deliveries", "query-refused", CURSOR, "cursor"),
    Refusal("list_packs", "query-refused", CURSOR, "cursor"),
    Refusal("find_procedures", "query-refused", CURSOR, "cursor"),
    Refusal("read_actuals", "query-refused", CURSOR, "cursor"),
    Refusal("read_active", "query-refused", "before the first activation no pack was in force", "as_of"),
    Refusal(
        "read_explanation", "query-refused", "a rule of the pack that the procedure was issued under", "rule"
    ),
    Refusal(
        "report_actuals",
        "body-refused",
        "minutes or times, not both, and stages of the procedure, once each",
        "/actuals/[0-9]+(/stage)?",
    ),
)


@dataclass
class Outcome:
    """How many requests were made, by phase, and what was found; `failures` by what tells them apart."""

    cases: Counter[str] = field(default_factory=Counter)
    statuses: Counter[int] = field(default_factory=Counter)
    failures: dict[tuple[str, ...], str] = field(default_factory=dict)

    def report(self) -> str:
        """For people: the counts, then each failure with the request that shows it."""
        phases = ", ".join(f"{name.lower()} {count}" for name, count in self.cases.items())
        statuses = ", ".join(f"{status}: {count}" for status, count in sorted(self.statuses.items()))
        lines = [f"{self.cases.total()} requests ({phases})", f"answers by status: {statuses}"]
        lines += [f"{' | '.join(key)}\n  {told}" for key, told in sorted(self.failures.items())]
        return "\n".join([*lines, f"{len(self.failures)} failures"])


def explore(
    app: Flask,
    examples: int,
    sequences: int,
    seed: int | None = None,
    say: Callable[[str], None] | None = None,
) -> Outcome:
    """Send requests to an application, `examples` at random for each operation and so many sequences.

    Besides come those that cover every keyword of the document. All have a key for everything, and some are
    repeated without. `say` hears each phase begin.
    """
    config = SchemathesisConfig.from_path(CONFIG)
    if seed is not None:
        config.update(seed=seed, max_failures=None)
    key = in_use(app).store.keys.create(LOCAL, "generated requests", SCOPES, "tests").text
    outcome = Outcome()
    with _listening(app) as address:
        schema = schemathesis.openapi.from_url(f"{address}/openapi.json", config=config)
        schema.config.update(headers={"Authorization": f"Bearer {key}"})
        schema.config.generation.update(max_examples=examples)
        schema.config.phases.stateful.generation.update(max_examples=sequences)
        schema.hook("filter_failure")(filter_failure)
        for event in from_schema(schema).execute():
            _take(event, outcome, say)
    return outcome


def filter_failure(context: Any, failure: Any, case: Any, response: Any) -> bool:
    """Whether a failure is one. It is none where the domain refuses, or a batch refuses inside its answer."""
    kind, operation = type(failure).__name__, case.operation.definition.raw["operationId"]
    if kind == ACCEPTED and operation == BATCH:
        # Each line item is looked at by itself: a wrong one is told in its place among right ones.
        return not any("/problems/" in result.get("type", "") for result in response.json()["results"])
    if kind == REJECTED and response.status_code == 422:
        return not any(refusal.covers(operation, response.json()) for refusal in DOMAIN_REFUSES)
    return True


@contextmanager
def _listening(app: Flask) -> Iterator[str]:
    """The address at which a server answers for an application, as `stagewright serve` lets it."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        server = HttpServer(app, [listening], Settings())
        thread = Thread(target=server.run)
        thread.start()
        try:
            yield server.address
        finally:
            server.stop()
            thread.join()


def prove_once(monkeypatched: Callable[..., None]) -> None:
    """Let equal files be proven once: each proof takes seconds, and always finds the same."""
    proofs: dict[str, Any] = {}
    prove_apart = kept.prove_apart

    def remembered(stack: list[Any]) -> Any:
        key = json.dumps([dict(layer) for layer in stack], sort_keys=True)
        if key not in proofs:
            proofs[key] = prove_apart(stack)
        return proofs[key]

    monkeypatched(kept, "prove_apart", remembered)


def _take(event: Any, outcome: Outcome, say: Callable[[str], None] | None) -> None:
    if isinstance(event, events.PhaseStarted) and say is not None:
        say(event.phase.name.name.lower())
    if isinstance(event, events.ScenarioFinished):
        _count(event, outcome)
    if isinstance(event, events.NonFatalError):
        outcome.failures["error", event.label] = repr(event.value)
    if isinstance(event, events.FatalError):
        raise event.exception


def _count(event: events.ScenarioFinished, outcome: Outcome) -> None:
    recorder = event.recorder
    outcome.cases[event.phase.name] += len(recorder.cases)
    for interaction in recorder.interactions.values():
        if interaction.response is not None:
            outcome.statuses[interaction.response.status_code] += 1
    for identifier, failure in _failures(recorder):
        case, response = recorder.cases[identifier].value, recorder.interactions[identifier].response
        status = "no answer" if response is None else str(response.status_code)
        told = "" if response is None else response.content[:500].decode(errors="replace")
        key = (type(failure).__name__, case.operation.label, status, _places(response))
        outcome.failures.setdefault(
            key, f"{failure.title}: {failure.message}\n  {case.as_curl_command()[:1000]}\n  {told}"
        )


def _failures(recorder: Any) -> Iterator[tuple[str, Any]]:
    for identifier, checks in recorder.checks.items():
        for check in checks:
            if check.failure_info is not None:
                yield identifier, check.failure_info.failure


def _places(response: Any) -> str:
    """What a problem names, so that different ones are told."""
    try:
        errors = response.json().get("errors", ())
    except (AttributeError, ValueError):
        return ""
    return " ".join(str(error.get("pointer", error.get("parameter"))) for error in errors)[:200]
