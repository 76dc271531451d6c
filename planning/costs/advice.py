"""What is advised: the repair where it meets every policy that speaks of the line item."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from planning.costs.comparing import Comparison
from planning.costs.model import Advice, PolicySaid
from rules.pack import Disposition
from rules.policies import Policy
from rules.predicates import Facts, holds


def advice_on(policies: Iterable[Policy], facts: Facts, comparison: Comparison) -> Advice:
    """The advice on a repair that the rules allow. `facts` are all facts, derived ones too."""
    said = tuple(_said(policy, comparison) for policy in policies if holds(policy.when, facts))
    return Advice(
        advised=_advised(said),
        because=tuple(_reasons(said)),
        probability_repair_cheaper=comparison.probability_repair_cheaper,
        saving=comparison.saving,
        saving_pct=comparison.saving_pct,
        threshold_part_price=comparison.threshold_part_price,
        policies=said,
    )


def _said(policy: Policy, comparison: Comparison) -> PolicySaid:
    judged = list(_judged(policy, comparison))
    return PolicySaid(
        policy=policy.id,
        met=all(met for met, _ in judged),
        found=tuple(told for _, told in judged),
        why=policy.why,
        source=policy.source,
    )


def _judged(policy: Policy, comparison: Comparison) -> Iterator[tuple[bool, str]]:
    """Limit by limit, whether the repair keeps it, and what was found, in words."""
    if policy.minimum_saving_pct is not None:
        asked, found = policy.minimum_saving_pct, comparison.saving_pct
        yield found >= asked, f"saving {found:g} %, at least {asked:g} % asked"
    if policy.minimum_probability_pct is not None:
        asked, found = policy.minimum_probability_pct, round(100 * comparison.probability_repair_cheaper)
        yield found >= asked, f"cheaper in {_of_jobs(found)} of jobs, at least {asked:g} % asked"
    if policy.maximum_elapsed_min is not None:
        asked, found = policy.maximum_elapsed_min, comparison.repair.elapsed_min.p80
        yield found <= asked, f"done within {found:g} min in 80 % of jobs, at most {asked:g} min asked"


def _of_jobs(per_cent: int) -> str:
    """A share of sampled jobs; none of them is never known to be none of all."""
    return {0: "less than 1 %", 100: "more than 99 %"}.get(per_cent, f"{per_cent} %")


def _advised(said: Sequence[PolicySaid]) -> Disposition | None:
    if not said:
        return None
    return Disposition.REPAIR if all(each.met for each in said) else Disposition.REPLACE


def _reasons(said: Sequence[PolicySaid]) -> Iterator[str]:
    """Why it is the repair, or what speaks against it."""
    if not said:
        yield "No policy of the pack speaks of this line item; the figures are for you to weigh."
    against = [each for each in said if not each.met]
    for each in against or said:
        found = "; ".join(each.found)
        yield f"{found[0].upper()}{found[1:]}: {each.why}"
