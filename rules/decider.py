"""Facts in, decision out: evaluates a pack layer by layer on an engine, and remembers decisions."""

from __future__ import annotations

from rules.bearing import facts_of_work_alone
from rules.cache import DecisionCache
from rules.decision import Decision, conclusions, decision_from
from rules.engines import Engine
from rules.pack import Pack
from rules.predicates import Facts
from rules.vocabulary import Origin


class Decider:
    """One pack on one engine. `cache` may be shared between packs: its keys carry the digest."""

    def __init__(self, pack: Pack, engine: Engine, cache: DecisionCache | None = None) -> None:
        self.pack = pack
        self.engine = engine
        self._cache = cache
        self._settled = _settled_facts(pack)
        self._idle = facts_of_work_alone(pack)

    def decide(self, facts: Facts) -> Decision:
        """The decision on complete facts (`rules.intake.complete`). Raises PackFault."""
        if self._cache is None:
            return self._evaluate(facts)
        bearing = {name: value for name, value in facts.items() if name not in self._idle}
        key = (self.pack.digest, self.pack.vocabulary.cells(bearing))
        return self._cache.get_or_compute(key, lambda: self._evaluate(facts))

    def _evaluate(self, facts: Facts) -> Decision:
        derived_facts = self.pack.vocabulary.from_origin(Origin.RULES)
        derived = {fact.name: fact.default for fact in derived_facts if fact.default is not None}
        fired: set[str] = set()
        with self.engine.evaluation() as match_layer:
            for number in range(len(self.pack.layers)):
                fired |= match_layer(number, {**facts, **derived})
                rules = [self.pack.rules[rule_id] for rule_id in sorted(fired)]
                derived |= conclusions(rules, self._settled[number])
        return decision_from(self.pack, fired, derived)


def _settled_facts(pack: Pack) -> tuple[frozenset[str], ...]:
    """For each layer, the derived facts that no later layer concludes."""
    last: dict[str, int] = {}
    for number, layer in enumerate(pack.layers):
        for rule_id in layer:
            last |= dict.fromkeys(pack.rules[rule_id].conclude, number)
    return tuple(
        frozenset(fact for fact, layer in last.items() if layer == number)
        for number in range(len(pack.layers))
    )
