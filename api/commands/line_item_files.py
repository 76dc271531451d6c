"""Files of line items that commands answer: a list, each item with what it is `about`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click
import yaml

from schemas.line_item.body import Body, ProcedureRequest

BESIDE = ("about", "read")
"""Members of an item that are no part of the request."""


def items_in(file: Path) -> list[dict[str, Any]]:
    """The line items of a file, each with what it is `about`. Raises ClickException."""
    try:
        items = yaml.safe_load(file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        raise click.ClickException(f"{file}: {error}") from error
    if not isinstance(items, list) or not all(isinstance(item, dict) and "about" in item for item in items):
        raise click.ClickException(f"{file}: must be a list of line items, each with 'about'")
    return items


def loaded(item: Mapping[str, Any]) -> Body:
    """An item as a request for a procedure, loaded. Raises ClickException."""
    asked = {name: value for name, value in item.items() if name not in BESIDE}
    request, body = ProcedureRequest(), {"line_item": {"reference": "from a file"}, **asked}
    faults = request.validate(body)
    if faults:
        raise click.ClickException(f"{item['about']}: {json.dumps(faults)}")
    found: Body = request.load(body)
    return found
