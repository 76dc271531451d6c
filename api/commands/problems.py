"""`stagewright problems`."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import click

from api.problem_types import PROBLEM_TYPES

_KINDS = sorted(PROBLEM_TYPES, key=lambda kind: kind.status)

_HEAD = """\
# Problems

Every refusal and failure is a problem document (RFC 9457); [integrating.md](integrating.md) tells how to
read one. These are all kinds there are, by status. A running service shows the same at `/problems`, and
`type` leads there. A kind keeps its name and its meaning; others may be added
([versioning.md](versioning.md)).
"""


@click.command()
def problems() -> None:
    """Print the page of all kinds of problems: what each means, and how to mend it.

    Example: stagewright problems > docs/problems.md
    """
    click.echo("\n".join([_HEAD, *_index(), *_kinds()]), nl=False)


def _index() -> Iterator[str]:
    yield "| status | kinds |\n|---|---|"
    for status, kinds in groupby(_KINDS, lambda kind: kind.status):
        yield f"| {status} | {', '.join(f'[{kind.slug}](#{kind.slug})' for kind in kinds)} |"
    yield ""


def _kinds() -> Iterator[str]:
    for kind in _KINDS:
        yield f"## {kind.slug}\n"
        yield f"`{kind.status}` **{kind.title}.** {kind.meaning}\n"
        yield f"{kind.mend}\n"
