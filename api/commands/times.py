"""Points in time as arguments of commands."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import click


class Moment(click.ParamType[datetime]):
    """A point in time to come, as RFC 3339 writes it, with its offset; `now` is one too."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """The point in time in UTC."""
        now = datetime.now(UTC)
        if isinstance(value, datetime):
            return value
        if value == "now":
            return now
        try:
            at = datetime.fromisoformat(value)
        except ValueError:
            self.fail(f"'{value}' is not a time; write it like 2027-03-01T08:00:00+01:00, or now", param, ctx)
        if at.tzinfo is None:
            self.fail(f"'{value}' has no offset; write it like {value}+00:00", param, ctx)
        if at < now:
            self.fail(f"'{value}' is past; name a time to come, or now", param, ctx)
        return at.astimezone(UTC)
