"""What durable-rules can't take, told before it is built.

Each limit stands below what was measured to break: crashes, hangs and errors of version 2.0.28.
`rules.engines.grouping` keeps whole layers inside the bounds; what is left are bounds on one rule and
on the pack as a whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.engines.grouping import GROUP_TESTS, GROUP_WAYS, attributes_of, expressions_of, grouped
from rules.engines.measures import blocks, single_tests, ways
from rules.engines.translate import Expression
from rules.pack import Pack, Rule
from rules.places import NOWHERE, Place

RULES = 1000
BLOCKS = 12
GROUPS = 250


@dataclass(frozen=True)
class Breach:
    """A limit that a pack goes beyond: which, where, what to split, and the rule if it is one rule's."""

    code: str
    place: Place
    message: str
    rule: str | None = None


class EngineLimit(ValueError):
    """The pack is beyond what durable-rules takes safely."""

    def __init__(self, breaches: tuple[Breach, ...]) -> None:
        super().__init__("; ".join(f"{breach.code} {breach.message}" for breach in breaches))
        self.breaches = breaches


def breaches(pack: Pack) -> tuple[Breach, ...]:
    """Every limit that `pack` goes beyond, in the order of the codes; none for a pack that is fine."""
    expressions = expressions_of(pack, pack.rules, attributes_of(pack))
    of_rules = [
        breach for rule_id, each in expressions.items() for breach in _of_rule(pack.rules[rule_id], each)
    ]
    # A rule that fits no group would make the count of groups meaningless.
    of_pack = _of_rules(pack) + ([] if of_rules else _of_groups(pack))
    return tuple(sorted(of_pack + of_rules, key=lambda breach: (breach.code, breach.place)))


def _of_rules(pack: Pack) -> list[Breach]:
    """1,500 rules and more have crashed it; each costs some 20 kB of memory in an evaluation."""
    if len(pack.rules) <= RULES:
        return []
    message = f"{len(pack.rules)} rules are more than {RULES}; split the pack, or join rules with `any`"
    return [Breach("R301", NOWHERE, message)]


def _of_rule(rule: Rule, expression: Expression) -> Iterator[Breach]:
    combinations, lists = ways(expression), blocks(expression)
    tests = len(set(single_tests(expression)))
    if combinations > GROUP_WAYS:
        yield _breach(
            "R302",
            rule,
            f"has {combinations} combinations of alternatives that may hold at once, more than {GROUP_WAYS}; "
            "give each block of an `any` a rule of its own",
        )
    if lists > BLOCKS:
        yield _breach(
            "R303",
            rule,
            f"joins tests {lists} times by all, any and one-of, more than {BLOCKS}; "
            "conclude a derived fact from one half and test that",
        )
    if tests > GROUP_TESTS:
        yield _breach(
            "R304",
            rule,
            f"makes {tests} tests, more than {GROUP_TESTS}, a member of a list counting as one; "
            "name the members that are left out (`not`), or split the rule",
        )


def _of_groups(pack: Pack) -> list[Breach]:
    """512 kinds of fact hang; each costs an assertion in every evaluation."""
    groups = sum(len(layer) for layer in grouped(pack))
    if groups <= GROUPS:
        return []
    message = (
        f"the {len(pack.rules)} rules in {len(pack.layers)} layers take {groups} passes, more than {GROUPS}; "
        "shorten the chains of derived facts, or lessen the alternatives under `any`"
    )
    return [Breach("R305", NOWHERE, message)]


def _breach(code: str, rule: Rule, detail: str) -> Breach:
    return Breach(code, rule.place, f"rule '{rule.id}' {detail}", rule.id)
