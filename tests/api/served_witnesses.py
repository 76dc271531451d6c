"""Holds the witnesses of a proof against the running service: each must show its fault there.

    python tests/api/served_witnesses.py [--faults 100] [--seed 1]

plants so many mistakes into the base pack, one at a time, serves each pack, and posts every witness
that its proof gives.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations, islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

# The planted mistakes are those of the tests of the rules.
sys.path.append(str(Path(__file__).parents[1] / "rules"))
sys.path.append(str(Path(__file__).parents[2]))

from flask import Flask
from flask.testing import FlaskClient
from seeded_faults import Found, faults

from api.application import Settings, create_app, snapshot_of
from api.snapshot import in_use, use
from rules.assertions.model import Assertion, Bounds, Pattern
from rules.loading import check_files
from rules.pack import Pack, Stage
from rules.proof.fault import Fault
from rules.proof.sequence import earlier_stages, may_lie_between
from rules.proof.witness import line_item_of

Document = Mapping[str, Any]

NO_ANSWER = {"R601", "R602", "R603", "R608"}
"""Faults for which the service refuses to answer."""


def application(folder: str | Path) -> Flask:
    """A service of its own, to be given one pack after another."""
    return create_app(Settings(database_url=f"sqlite:///{folder}/store.sqlite3", without_keys=True))


def unshown(app: Flask, found: Found) -> Iterator[Fault]:
    """Faults of a proof whose witness does not show them on the service."""
    assert found.pack is not None
    assertions = {each.id: each for each in check_files([found.planting.files()]).assertions}
    store = in_use(app).store
    store.keep_pack(found.pack)
    use(app, snapshot_of(found.pack, store))
    with app.test_client() as client:
        for fault in found.proof:
            if fault.witness is not None and not shows(client, found.pack, assertions, fault):
                yield fault


def shows(client: FlaskClient, pack: Pack, assertions: Mapping[str, Assertion], fault: Fault) -> bool:
    """Whether the service, asked what the witness says, is wrong in the way of the fault."""
    assert fault.witness is not None
    body = line_item_of(fault.witness, pack.vocabulary.facts)
    response = client.post("/v1/procedures", json=body)
    document = response.json
    assert document is not None
    if fault.code in NO_ANSWER:
        return response.status_code == 500 and document["type"].endswith("/pack-fault")
    assert response.status_code == 201, document
    if fault.code == "R609":
        return breaks(assertions[fault.message.split("'")[1]], pack, document)
    assert fault.code == "R610", fault
    caution = fault.message.split("'")[1]
    others = ({**body, "part": {**body["part"], "material": symbol}} for symbol in pack.substrates)
    answers = (client.post("/v1/procedures", json=other).json for other in others)
    return caution not in cautions_in(document) and any(
        stages_in(each) <= stages_in(document) and caution in cautions_in(each) for each in answers if each
    )


def breaks(assertion: Assertion, pack: Pack, document: Document) -> bool:
    """Whether an answer that the assertion speaks of lacks what it always has, or has what it never has."""
    kept = assertion.always is None or looks_like(assertion.always, pack, document)
    return looks_like(assertion.where, pack, document) and (
        not kept or (assertion.never is not None and looks_like(assertion.never, pack, document))
    )


def looks_like(pattern: Pattern, pack: Pack, document: Document) -> bool:
    stages = stages_in(document)
    return (
        document["disposition"]
        in ({each.value for each in pattern.dispositions} or {document["disposition"]})
        and {each["rule"] for each in document["reasons"]}.issuperset(pattern.reasons)
        and stages.issuperset(pattern.present)
        and (not pattern.any_of or not stages.isdisjoint(pattern.any_of))
        and stages.isdisjoint(pattern.absent)
        and cautions_in(document).issuperset(pattern.cautions)
        and (not pattern.no_stages or not stages)
        and all(has(document, *key, wanted) for key, wanted in pattern.parameters.items())
        and in_sequence(pattern, pack, stages)
        and all(carries(pattern, pack.stages[each["stage"]], each["cautions"]) for each in document["stages"])
    )


def in_sequence(pattern: Pattern, pack: Pack, stages: set[str]) -> bool:
    """By `after`; that the stages of an answer happen to stand in order is not enough."""
    earlier, between = earlier_stages(pack.stages), pattern.nothing_between
    ordered = all(
        first in earlier[last] for first, last in combinations(pattern.order, 2) if {first, last} <= stages
    )
    return ordered and not any(
        {first, stage, last} <= stages and may_lie_between(earlier, first, stage, last)
        for first in (between.after if between else ())
        for last in (between.before if between else ())
        for stage in (between.stages if between else ())
        if last not in earlier[first]
    )


def has(document: Document, stage: str, parameter: str, wanted: object) -> bool:
    """Whether the stage, where it is there, shows the parameter as it is wanted."""
    for each in document["stages"]:
        if each["stage"] == stage:
            if wanted is None:
                return parameter not in each["parameters"]
            # A wait that a rule sets is one of the parameters, another is not.
            value = each["parameters"].get(parameter, each["wait_min"] if parameter == "wait_min" else None)
            if not isinstance(wanted, Bounds):
                return bool(value == wanted) and (parameter != "wait_min" or parameter in each["parameters"])
            low, high = wanted.at_least, wanted.at_most
            return value is not None and (low is None or value >= low) and (high is None or value <= high)
    return True


def carries(pattern: Pattern, stage: Stage, cautions: Iterable[str]) -> bool:
    rule = pattern.carry
    meant = rule is not None and (stage.id in rule.stages or bool({*rule.users_of} & {*stage.materials}))
    return not meant or rule is None or {*rule.cautions} <= {*cautions}


def stages_in(document: Document) -> set[str]:
    return {each["stage"] for each in document["stages"]}


def cautions_in(document: Document) -> set[str]:
    return {each["caution"] for each in document["cautions"]}


def main() -> int:
    """Post the witnesses of so many mistakes; 1 where one does not show its fault."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    posted, missed = Counter[str](), 0
    with TemporaryDirectory() as folder:
        app = application(folder)
        for found in islice(faults(wanted.seed), wanted.faults):
            posted.update(fault.code for fault in found.proof if fault.witness)
            for fault in unshown(app, found) if found.proof else ():
                missed += 1
                print(f"{found.planting.told}\n    not shown: {fault.finding().message}", flush=True)
        in_use(app).store.close()
    print(f"{sum(posted.values())} witnesses posted, {missed} do not show their fault: {dict(posted)}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
