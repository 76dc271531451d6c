"""The proof before use: checks, cases, the whole domain, and the agreement of the engines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from itertools import islice

from api.packs.agreement import Difference, differences, random_facts
from api.packs.documents import Document, blank, finding_of, place_of
from api.packs.reading import Files
from planning.order import ordered
from planning.timing.keeping import why_not_kept
from rules.cases import Case, failures, run_cases
from rules.conditions import Value
from rules.decider import Decider
from rules.engines import Engine
from rules.engines.choose import engine_for
from rules.intake import FactsRefused, complete
from rules.loading import check_files
from rules.materials.resolve import resolve
from rules.pack import Pack
from rules.proof.fault import Fault
from rules.proof.proving import prove
from rules.proof.witness import Witness, line_item_of

CELLS = 2000
MOST_DIFFERENCES = 5


def proof_of(stack: Sequence[Files]) -> Document:
    """What the proof of a stack of packs finds, JSON-ready; `passed` only where it finds nothing.

    A pack that does not pass the checks goes no further.
    """
    checked = check_files(stack)
    if checked.pack is None or checked.findings:
        return blank() | {"findings": [finding_of(found) for found in checked.findings]}
    pack = checked.pack
    engine = engine_for(pack)
    results = run_cases(pack, checked.cases, Decider(pack, engine), _in_working_order)
    found = failures(pack, results)
    proof = prove(pack, checked.assertions, partial(why_not_kept, pack))
    agreement = _agreement(pack, engine, checked.cases)
    return {
        "passed": not (found or proof.faults or agreement["differences"]),
        "failure": None,
        "cells": proof.cells,
        "rules": proof.rules,
        "assertions": proof.assertions,
        "cases": len(results),
        "findings": [finding_of(each) for each in found],
        "faults": [_fault(pack, fault) for fault in proof.faults],
        "agreement": agreement,
    }


def _agreement(pack: Pack, engine: Engine, cases: Iterable[Case]) -> Document:
    listed = [*random_facts(pack, CELLS), *_facts_of(pack, cases)]
    found = islice(differences(pack, engine, listed), MOST_DIFFERENCES)
    return {
        "engine": engine.name,
        "cells": len(listed),
        "differences": [_difference(each) for each in found],
    }


def _facts_of(pack: Pack, cases: Iterable[Case]) -> Iterator[dict[str, Value]]:
    for case in cases:
        try:
            yield dict(complete(pack, resolve(pack, case.material), case.given).values)
        except (FactsRefused, ValueError):
            continue  # the case itself has failed


def _in_working_order(pack: Pack, stages: Iterable[str]) -> tuple[str, ...]:
    return ordered(pack.stages, stages, pack.phases)


def _fault(pack: Pack, fault: Fault) -> Document:
    return {
        "code": fault.code,
        "message": fault.message,
        "places": [place_of(place) for place in fault.places],
        "cells": fault.cells,
        "witness": fault.witness and _witness(pack, fault.witness),
    }


def _witness(pack: Pack, witness: Witness) -> Document:
    return {"in_words": witness.in_words(), "line_item": line_item_of(witness, pack.vocabulary.facts)}


def _difference(difference: Difference) -> Document:
    return {
        "engine": difference.engine,
        "facts": dict(difference.facts),
        "reference": difference.reference,
        "said": difference.said,
    }
