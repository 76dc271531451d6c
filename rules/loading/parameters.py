"""Reads stage parameters: what a stage lets itself be told, and values of the right type for it."""

from __future__ import annotations

from math import isnan

from rules.kinetics import COLDEST_C, HOTTEST_C
from rules.loading.grades import P_GRADES
from rules.loading.nodes import Node, Scalar, Spelling
from rules.loading.phrases import did_you_mean, quoted
from rules.loading.report import Report
from rules.loading.values import boolean_of, choice_of, number_of, text_of
from rules.pack import ParameterValue, Stage

WHOLE = ("coats", "passes", "layers")
MINUTES = ("wait_min", "not_before_min", "not_after_min")
SIZES = ("around_mm", "depth_pct")
COVERS = ("part", "repair", "trial")
MEANT_FOR_PLANNING = (*WHOLE, *MINUTES, *SIZES, "abrasive", "covers", "temperature_c")
_MOST_COATS = 20
_LARGEST = 10_000.0


def parameters_of(stage: Stage) -> dict[str, ParameterValue]:
    """Every parameter that a stage has for a line item, with a value that shows its type."""
    timed = stage.window is not None or stage.wait.minutes > 0
    implied = dict.fromkeys(MINUTES, 0.0) if timed else {}
    return {**implied, **stage.parameters, **dict.fromkeys(stage.from_substrate, 0.0)}


def parameter_value(
    name: str, node: Node, report: Report, like: ParameterValue | None = None
) -> ParameterValue | None:
    """A value for the parameter `name`, of the type of `like`; None where the node holds none.

    Without `like` the type is the one that is written, except for parameters planning reckons with.
    """
    what = f"'{name}'"
    if name in WHOLE:
        return _whole(what, node, report)
    if name == "abrasive":
        return _grade(what, node, report)
    if name == "covers":
        return choice_of(node, what, dict(zip(COVERS, COVERS, strict=True)), report)
    if name in SIZES:
        return number_of(node, what, report, at_least=0, at_most=_LARGEST)
    if name in MINUTES:
        return number_of(node, what, report, at_least=0)
    if name == "temperature_c":
        return number_of(node, what, report, COLDEST_C, HOTTEST_C)
    if isinstance(like, float):
        return number_of(node, what, report)
    if isinstance(like, bool):
        return boolean_of(node, what, report)
    if like is None and isinstance(node, Scalar):
        if node.spelling is Spelling.NUMBER:
            return number_of(node, what, report)
        if node.spelling is Spelling.BOOLEAN:
            return boolean_of(node, what, report)
    return text_of(node, what, report) or None


def _whole(what: str, node: Node, report: Report) -> float:
    number = number_of(node, what, report, at_least=1, at_most=_MOST_COATS)
    if not isnan(number) and not number.is_integer():
        report.add("R106", node.place, f"{what} is {number:g}; write a whole number")
    return number


def _grade(what: str, node: Node, report: Report) -> str | None:
    grade = text_of(node, what, report)
    if grade and grade not in P_GRADES:
        hint = did_you_mean(grade, P_GRADES)
        told = f"{what} is {quoted(grade)}, no P-grade from {P_GRADES[0]} to {P_GRADES[-1]}"
        report.add("R128", node.place, f"{told}{hint or '; write one such as P180'}")
    return grade or None
