"""A procedure as text that a person reads in a terminal of 100 columns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Any

from api.demo.supplies import mixes_in_text, pick_list_in_text
from api.drawing.times import duration

WIDTH = 100
_INDENT = "    "
_TITLE = 56
_PREVAIL = (
    "The vehicle maker's procedure, the safety data sheets, local codes and licensed practice prevail; "
    "the answer itself says of each caution what the hazard is, what protects and what to do first."
)

Document = Mapping[str, Any]


def procedure_in_text(document: Document) -> str:
    """The whole procedure, every line at most `WIDTH` wide, without a line break at the end."""
    stages = document["stages"]
    parts = (
        _head(document),
        _assumptions(document["assumptions"]),
        _stages(stages) if stages else (),
        _cautions(document["cautions"], stages),
        mixes_in_text(document["materials"]),
        pick_list_in_text(document["pick_list"]),
        _totals(document) if stages else (),
    )
    return "\n".join(line.rstrip() for part in parts for line in part)


def _head(document: Document) -> Iterator[str]:
    yield from wrap(f"{document['part']['name']}, {document['material']['name']}", WIDTH)
    yield f"{_INDENT}line item {document['line_item']['reference']}, procedure {document['id']}"
    reasons = " ".join(reason["text"] for reason in document["reasons"])
    yield from _paragraph(f"{document['disposition'].upper()}: {reasons}")


def _assumptions(assumptions: Iterable[Document]) -> Iterator[str]:
    told = [f"{assumed['fact']} {_value(assumed['value'])}" for assumed in assumptions]
    if told:
        yield from _paragraph(f"Assumed, as the line item does not say: {', '.join(told)}.")


def _stages(stages: Sequence[Document]) -> Iterator[str]:
    yield ""
    yield f"{'Stage':<{_TITLE + 5}}{'Work':>12}{'Wait':>12}  Abrasive"
    for stage in stages:
        title = _cut(stage["title"], _TITLE)
        work = duration(stage["work_min"]["p50"])
        wait = duration(stage["wait_min"]) if stage["wait_min"] else ""
        yield f"{stage['position']:>3}. {title:<{_TITLE}}{work:>12}{wait:>12}  {stage['abrasive'] or ''}"
        if stage["window"]:
            yield from _paragraph(stage["window"]["sentence"], "       ")


def _cautions(cautions: Sequence[Document], stages: Sequence[Document]) -> Iterator[str]:
    positions = {stage["stage"]: stage["position"] for stage in stages}
    if not cautions:
        return
    yield ""
    yield "Cautions"
    for caution in cautions:
        numbers = ", ".join(
            str(position) for position in sorted(positions[name] for name in caution["stages"])
        )
        where = f" ({numbers})" if numbers else ""
        yield from _paragraph(f"{caution['signal'].upper():<8} {caution['title']}{where}", hanging=9)
    yield from _paragraph(_PREVAIL)


def _totals(document: Document) -> Iterator[str]:
    totals, emissions, cost = document["totals"], document["emissions"], document["cost"]
    elapsed, work = totals["elapsed_min"], totals["work_min"]
    labour = ", ".join(f"{category} {hours} h" for category, hours in totals["labour_hours"].items())
    yield ""
    yield "Totals"
    yield from _paragraph(
        f"Start to finish: half of such jobs within {duration(elapsed['p50'])}, "
        f"80 % within {duration(elapsed['p80'])}, 95 % within {duration(elapsed['p95'])}."
    )
    yield from _paragraph(
        f"Hands-on work {duration(work['p50'])}: {labour}. "
        f"Volatile organic compounds {emissions['voc_total_g']} g."
    )
    if emissions["jurisdiction"]:
        yield from _paragraph(emissions["limits"])
    if document["timeline"]["start_at"]:
        timeline = document["timeline"]
        finish = totals["finish_at"]
        yield from _paragraph(
            f"Begun at {timeline['start_at']}: half of such jobs finished by {finish['p50']}, "
            f"80 % by {finish['p80']}, 95 % by {finish['p95']}."
        )
        for put_off in timeline["put_off"]:
            yield from _paragraph(put_off["told"])
    if document["place"] and document["place"]["warning"]:
        yield from _paragraph(_held(document["timeline"]["held"], document["stages"]))
        yield from _paragraph(document["place"]["warning"])
    if cost:
        yield from _paragraph(_cost(cost))
        yield from _paragraph(_advice(cost["advice"], cost["currency"]))


def _held(held: Sequence[str], stages: Sequence[Document]) -> str:
    positions = [str(stage["position"]) for stage in stages if stage["stage"] in held]
    return f"Held until the place is fit: {', '.join(positions)}."


def _cost(cost: Document) -> str:
    currency = cost["currency"]
    words = [f"Labour {currency} {cost['labour_total']}, materials {currency} {cost['materials_total']}."]
    if cost["replacement_part"] is not None:
        words.append(f"A new part {currency} {cost['replacement_part']}.")
    return " ".join([*words, f"Not included: {', '.join(cost['not_included'])}."])


def _advice(advice: Document, currency: str) -> str:
    words = [f"Advised: {advice['advised'] or 'nothing'}."]
    if advice["saving"] is not None:
        words.append(
            f"The repair costs {_less(advice['saving'], currency)} than the replacement at the median."
        )
    return " ".join([*words, *advice["because"]])


def _less(saving: str, currency: str) -> str:
    return f"{currency} {saving.removeprefix('-')} {'more' if saving.startswith('-') else 'less'}"


def _paragraph(text: str, indent: str = _INDENT, hanging: int = 0) -> list[str]:
    return wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + " " * hanging)


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1].rstrip() + "…"


def _value(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
