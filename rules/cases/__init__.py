"""Cases: given these facts, expect that answer."""

from rules.cases.model import Case, Expected
from rules.cases.running import CaseResult, failures, run_cases, unexercised

__all__ = ["Case", "CaseResult", "Expected", "failures", "run_cases", "unexercised"]
