"""What shop software does: posts a line item, reads the procedure that comes back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import requests
import yaml

from api.demo.faults import DemoFailed

ANSWER_WITHIN_S = 30
LINE_ITEMS = Path(__file__).with_name("line_items.yaml")


@dataclass(frozen=True)
class Story:
    """An invented line item: what happened, and the JSON body that shop software posts."""

    about: str
    body: Mapping[str, Any]


def invented_line_items() -> tuple[str, list[Story]]:
    """The invented shop, and its line items in the order they are posted."""
    data = yaml.safe_load(LINE_ITEMS.read_text(encoding="utf-8"))
    return data["shop"], [Story(item["about"], item["body"]) for item in data["line_items"]]


def new_session() -> requests.Session:
    """A session that goes to the service itself, whatever proxy the environment names."""
    session = requests.Session()
    session.trust_env = False
    return session


def procedure_for(session: requests.Session, address: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """Post a line item and return its procedure. Raises DemoFailed with the problem, if there is one."""
    reference = body["line_item"]["reference"]
    try:
        answer = session.post(f"{address}/v1/procedures", json=body, timeout=ANSWER_WITHIN_S)
        document: dict[str, Any] = answer.json()
    except (requests.RequestException, ValueError) as error:
        raise DemoFailed(f"{reference}: no usable answer from {address}: {error}") from error
    if answer.status_code != 201:
        raise DemoFailed(f"{reference}: {answer.status_code} {_problem_in_words(document)}")
    return document


def _problem_in_words(problem: Mapping[str, Any]) -> str:
    """An RFC 9457 problem document in lines."""
    head = f"{problem.get('title', 'no title')}: {problem.get('detail', '')}".rstrip(": ")
    errors = [
        f"  {error.get('pointer', '')}: {error.get('detail', '')}" for error in problem.get("errors", [])
    ]
    return "\n".join([head, *errors])
