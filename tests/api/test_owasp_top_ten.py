"""docs/security.md names all ten risks of the OWASP API Security Top 10 (2023), each with the tests that hold
it; the tests of a risk say in their first line which one it is."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "security.md"

TOP_TEN = (
    "API1:2023 Broken Object Level Authorization",
    "API2:2023 Broken Authentication",
    "API3:2023 Broken Object Property Level Authorization",
    "API4:2023 Unrestricted Resource Consumption",
    "API5:2023 Broken Function Level Authorization",
    "API6:2023 Unrestricted Access to Sensitive Business Flows",
    "API7:2023 Server Side Request Forgery",
    "API8:2023 Security Misconfiguration",
    "API9:2023 Improper Inventory Management",
    "API10:2023 Unsafe Consumption of APIs",
)


def told() -> list[tuple[str, Path]]:
    """Each risk of the table with its tests."""
    rows = re.findall(r"^\| (API\d.*?) \| .+ \| \[\w+\]\((.+)\) \|$", PAGE.read_text("utf-8"), re.MULTILINE)
    return [(risk, (PAGE.parent / link).resolve()) for risk, link in rows]


def test_all_ten_are_told_of_in_their_order() -> None:
    assert tuple(risk for risk, _ in told()) == TOP_TEN


@pytest.mark.parametrize(("risk", "tests"), told(), ids=[risk.split(":")[0] for risk, _ in told()])
def test_each_has_tests_of_its_own(risk: str, tests: Path) -> None:
    module = ast.parse(tests.read_text(encoding="utf-8"))
    assert (ast.get_docstring(module) or "").startswith(f"{risk} (OWASP API Security Top 10, 2023)")
    assert any(isinstance(each, ast.FunctionDef) and each.name.startswith("test_") for each in module.body)


def test_no_tests_of_a_risk_are_left_out_of_the_page() -> None:
    written = set((ROOT / "tests" / "api").glob("test_owasp_*.py")) - {Path(__file__)}
    assert {tests for _, tests in told()} == written
