"""Facts in, decision out."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from strategies import boolean, enumeration, pack_of, rule

from rules.cache import DecisionCache
from rules.conditions import All, OneOf, Value
from rules.decider import Decider
from rules.decision import PackFault
from rules.engines import MatchLayer
from rules.engines.reference import ReferenceEngine
from rules.pack import Decide, Disposition, Pack
from rules.predicates import Facts
from rules.vocabulary import Origin

REPAIR = Decide(Disposition.REPAIR, "It can be made good.")
GIVEN = enumeration("size", "small", "large", "huge")
DERIVED = [
    enumeration("method", "none", "fill", "weld", origin=Origin.RULES, default="none"),
    boolean("needs_promoter", origin=Origin.RULES, default=False),
]
RULES = [
    rule("always", All(()), decide=REPAIR),
    rule("fills", OneOf("size", ("small",)), conclude={"method": "fill"}),
    rule("welds", OneOf("size", ("large", "huge")), conclude={"method": "weld"}),
    rule("promotes", OneOf("method", ("none",), negated=True), conclude={"needs_promoter": True}),
    rule("primes", OneOf("needs_promoter", (True,)), require=("prime",)),
    rule("skips", OneOf("needs_promoter", (False,)), require=("wash",)),
]
PACK = pack_of([GIVEN, *DERIVED], RULES)


class Watched:
    """The reference engine, noting what is asked of it."""

    name = "watched"

    def __init__(self, pack: Pack) -> None:
        self._engine = ReferenceEngine(pack)
        self.asked: list[tuple[int, dict[str, Value]]] = []
        self.open = 0

    @contextmanager
    def evaluation(self) -> Iterator[MatchLayer]:
        self.open += 1
        try:
            with self._engine.evaluation() as match_layer:

                def noting(layer: int, facts: Facts) -> frozenset[str]:
                    self.asked.append((layer, dict(facts)))
                    return match_layer(layer, facts)

                yield noting
        finally:
            self.open -= 1

    def close(self) -> None:
        """Nothing is held."""


def test_layers_are_asked_in_order_with_what_is_concluded_so_far() -> None:
    engine = Watched(PACK)
    decision = Decider(PACK, engine).decide({"size": "small"})
    assert engine.asked == [
        (0, {"size": "small", "method": "none", "needs_promoter": False}),
        (1, {"size": "small", "method": "fill", "needs_promoter": False}),
        (2, {"size": "small", "method": "fill", "needs_promoter": True}),
    ]
    assert decision.derived == {"method": "fill", "needs_promoter": True}
    assert decision.stages == {"prime": ("primes",)}
    assert decision.fired == ("always", "fills", "primes", "promotes")


def test_a_fact_that_no_rule_concludes_keeps_its_default() -> None:
    pack = pack_of([GIVEN, *DERIVED], [each for each in RULES if each.id not in {"fills", "welds"}])
    decision = Decider(pack, ReferenceEngine(pack)).decide({"size": "small"})
    assert decision.derived == {"method": "none", "needs_promoter": False}
    assert decision.stages == {"wash": ("skips",)}


def test_a_fact_concluded_in_two_layers_is_settled_in_the_later_one() -> None:
    later = rule("later", OneOf("method", ("fill",)), conclude={"needs_promoter": True})
    early = rule("early", OneOf("size", ("small",)), conclude={"needs_promoter": False})
    pack = pack_of([GIVEN, *DERIVED], [*RULES[:3], early, later])
    with pytest.raises(PackFault, match="needs_promoter") as raised:
        Decider(pack, ReferenceEngine(pack)).decide({"size": "small"})
    assert raised.value.rules == ("early", "later")
    assert Decider(pack, ReferenceEngine(pack)).decide({"size": "large"}).derived["needs_promoter"] is False


def test_a_conclusion_is_overridden_across_layers() -> None:
    later = rule("later", OneOf("method", ("fill",)), conclude={"needs_promoter": True}, overrides=("early",))
    early = rule("early", OneOf("size", ("small",)), conclude={"needs_promoter": False})
    pack = pack_of([GIVEN, *DERIVED], [*RULES[:3], early, later])
    decision = Decider(pack, ReferenceEngine(pack)).decide({"size": "small"})
    assert decision.derived["needs_promoter"] is True


def test_rules_may_disagree_until_a_later_one_overrides_them() -> None:
    small = OneOf("size", ("small",))
    both = [
        rule("yes", small, conclude={"needs_promoter": True}),
        rule("no", small, conclude={"needs_promoter": False}),
    ]
    later = rule(
        "later", OneOf("method", ("fill",)), conclude={"needs_promoter": True}, overrides=("yes", "no")
    )
    pack = pack_of([GIVEN, *DERIVED], [*RULES[:3], *both, later])
    assert pack.layers == (("always", "fills", "no", "welds", "yes"), ("later",))
    decision = Decider(pack, ReferenceEngine(pack)).decide({"size": "small"})
    assert decision.derived["needs_promoter"] is True


def test_a_fault_of_the_pack_closes_the_evaluation() -> None:
    pack = pack_of([GIVEN, *DERIVED], RULES[1:])
    engine = Watched(pack)
    for _ in range(2):
        with pytest.raises(PackFault, match="no rule decides"):
            Decider(pack, engine, DecisionCache()).decide({"size": "small"})
    assert engine.open == 0


def test_a_missing_fact_is_an_error_and_not_false() -> None:
    with pytest.raises(KeyError, match="size"):
        Decider(PACK, ReferenceEngine(PACK)).decide({})


def test_a_remembered_decision_is_not_evaluated_again() -> None:
    engine = Watched(PACK)
    decider = Decider(PACK, engine, DecisionCache())
    first = decider.decide({"size": "small"})
    assert decider.decide({"size": "small"}) is first
    assert len(engine.asked) == 3
    assert decider.decide({"size": "large"}) != first
    assert len(engine.asked) == 6


def test_packs_that_share_a_cache_keep_their_own_answers() -> None:
    stricter = pack_of(
        [GIVEN, *DERIVED], [rule("always", All(()), decide=Decide(Disposition.REPLACE, "No."))]
    )
    cache = DecisionCache()
    deciders = [Decider(pack, ReferenceEngine(pack), cache) for pack in (PACK, stricter)]
    for _ in range(2):
        assert [decider.decide({"size": "small"}).disposition for decider in deciders] == [
            Disposition.REPAIR,
            Disposition.REPLACE,
        ]
    assert cache.hits == 2


def test_a_fact_that_is_missing_is_not_found_in_the_cache_under_another() -> None:
    """Fact sets that differ in which facts they have may not share a remembered decision."""
    pack = pack_of([boolean("wet"), boolean("hot")], [rule("a", OneOf("wet", (True,)), decide=REPAIR)])
    decider = Decider(pack, ReferenceEngine(pack), DecisionCache())
    assert decider.decide({"wet": True}).fired == ("a",)
    with pytest.raises(KeyError, match="wet"):
        decider.decide({"hot": True})
