"""Documentation pages of the finding codes, from their registry."""

from __future__ import annotations

from collections.abc import Iterator

from rules.codes import CODES, Code

_FAMILIES = {
    "R0": "Files and YAML: no pack can be built",
    "R1": "Things, names and values: no pack can be built",
    "R2": "Checks across a whole pack",
    "R3": "What the rules engine cannot take",
    "R4": "Cases that fail",
    "R5": "Tables by which a material is identified",
    "R6": "Proof over the whole fact domain",
}
_INDEX = """\
# Codes of findings

Every finding on a rule pack has a code, a place and a message that proposes the fix. `stagewright rules
code R012` tells the same as the page. A code keeps its meaning for ever. The examples are about a small
invented pack that is called `small`.
"""
_PAGE = """\
# {code.id}: {code.title}

{code.why}

Refused:

```yaml
{code.example}
```

Not refused:

```yaml
{code.good}
```

## How to mend it

{code.mend}

[All codes](README.md)
"""


def code_pages() -> dict[str, str]:
    """File name -> text, for the index and every code."""
    pages = {f"{code.id}.md": _PAGE.format(code=code) for code in CODES.values()}
    return {"README.md": "\n".join([_INDEX, *_index()]), **pages}


def _index() -> Iterator[str]:
    for prefix, title in _FAMILIES.items():
        yield f"## {title}\n"
        yield from (_line(CODES[code]) for code in sorted(CODES) if code.startswith(prefix))
        yield ""


def _line(code: Code) -> str:
    return f"- [{code.id}]({code.id}.md) {code.title}"
