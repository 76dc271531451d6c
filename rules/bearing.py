"""What a fact bears on."""

from __future__ import annotations

from functools import lru_cache

from rules.conditions import facts_read
from rules.pack import Pack
from rules.same import Same


def facts_of_work_alone(pack: Pack) -> frozenset[str]:
    """The facts that make work harder and that nothing else reads: no decision depends on them."""
    return _facts_of_work_alone(Same(pack))


@lru_cache(maxsize=16)
def _facts_of_work_alone(same: Same[Pack]) -> frozenset[str]:
    pack = same.it
    hardening = {fact for stage in pack.stages.values() for fact in stage.work.harder}
    read = [facts_read(rule.when) for rule in pack.rules.values()]
    read += [facts_read(fact.applies_when) for fact in pack.vocabulary if fact.applies_when is not None]
    return frozenset(hardening.difference(*read))
