"""What a candidate would change for the line items that are kept: counted, grouped by what changes."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from api.packs.comparing import Compared, Comparison, Difference, MemberChange
from api.packs.documents import Document
from api.packs.outcomes import Answered
from schemas.figures import plain_values
from schemas.procedure.document import pack_named
from storage.records import Situation

REFUSED = "refused"

Hours = Counter[str]


@dataclass
class Tally:
    """Line items in which the same changes. `example` is a compared situation, that of most line items."""

    example: Compared
    line_items: int = 0
    situations: int = 0
    hours_before: Hours = field(default_factory=Counter)
    hours_after: Hours = field(default_factory=Counter)

    def add(self, compared: Compared) -> None:
        count = compared.situation.line_items
        self.line_items += count
        self.situations += 1
        if compared.before and compared.after:
            _add_hours(self.hours_before, compared.before, count)
            _add_hours(self.hours_after, compared.after, count)


class Impact:
    """Sums over all situations, which come largest first, for a shop: those of others are not named."""

    def __init__(self, comparison: Comparison, situations: Iterable[Situation], shop: str) -> None:
        self._pack = comparison.candidate
        self._shop = shop
        self._counts: Counter[str] = Counter()
        self._before: Counter[str] = Counter()
        self._after: Counter[str] = Counter()
        self._tallies: dict[Difference, Tally] = {}
        self._situations = 0
        for situation in situations:
            self._add(comparison.compare(situation))

    def document(self, limit: int) -> Document:
        """As JSON, with the `limit` changes that concern most line items."""
        tallies = sorted(self._tallies.items(), key=lambda each: -each[1].line_items)
        return {
            "pack": pack_named(self._pack),
            "line_items": {
                "total": self._counts.total(),
                **{name: self._counts[name] for name in ("unchanged", "changed", REFUSED, "not_compared")},
            },
            "situations": self._situations,
            "dispositions": {"before": dict(self._before), "after": dict(self._after)},
            "labour_hours": _hours(self._tallies.values()),
            "changes": [_change(each, tally, self._shop) for each, tally in tallies[:limit]],
            "changes_left_out": max(0, len(tallies) - limit),
        }

    def _add(self, compared: Compared) -> None:
        count = compared.situation.line_items
        self._situations += 1
        self._counts[_kind(compared)] += count
        if compared.before is None:
            return
        self._before[compared.before.outcome.disposition] += count
        self._after[compared.after.outcome.disposition if compared.after else REFUSED] += count
        if compared.difference is not None:
            self._tallies.setdefault(compared.difference, Tally(compared)).add(compared)


def _kind(compared: Compared) -> str:
    if compared.before is None:
        return "not_compared"
    if compared.after is None:
        return REFUSED
    return "unchanged" if compared.difference is None else "changed"


def _add_hours(hours: Hours, answered: Answered, count: int) -> None:
    for category, value in answered.labour_hours.items():
        # Counters are for whole numbers to the type checker; tenths of an hour are.
        hours[category] += round(value * 10) * count


def _hours(tallies: Iterable[Tally]) -> Document:
    before, after = Counter[str](), Counter[str]()
    for tally in tallies:
        before.update(tally.hours_before)
        after.update(tally.hours_after)
    return {"before": _from_tenths(before), "after": _from_tenths(after)}


def _from_tenths(hours: Hours) -> dict[str, float]:
    return {category: hours[category] / 10 for category in sorted(hours)}


def _change(difference: Difference, tally: Tally, shop: str) -> Document:
    before, after = difference.disposition
    return {
        "line_items": tally.line_items,
        "situations": tally.situations,
        "disposition": {"before": before, "after": after},
        "refused": difference.refused,
        "stages": {
            "added": list(difference.added),
            "removed": list(difference.removed),
            "moved": list(difference.moved),
            "changed": [_member(change) for change in difference.changed],
        },
        "cautions": {
            "added": list(difference.cautions_added),
            "removed": list(difference.cautions_removed),
        },
        "labour_hours": _hours([tally]),
        "example": _example(tally.example, shop),
    }


def _member(change: MemberChange) -> Document:
    return {
        "stage": change.stage,
        "member": change.member,
        "before": _value(change.before),
        "after": _value(change.after),
    }


def _value(text: str | None) -> Any:
    return None if text is None else json.loads(text)


def _example(compared: Compared, shop: str) -> Document:
    situation = compared.situation
    stated: Mapping[str, Any] = situation.stated.facts
    return {
        "line_item": situation.reference if situation.shop == shop else None,
        "material": situation.stated.material,
        "facts": plain_values(stated),
        "elapsed_min": {
            "before": compared.before and compared.before.elapsed_min,
            "after": compared.after and compared.after.elapsed_min,
        },
    }
