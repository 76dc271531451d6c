"""The tables by which a material is identified, where a pack has them."""

from __future__ import annotations

from rules.findings import Finding
from rules.pack import Pack

_KEY = "identification"


def identification(pack: Pack) -> tuple[tuple[Finding, ...], frozenset[str]]:
    """What is wrong with the tables, and the cautions that their bench tests carry.

    A pack may do without tables. Where they can't be read, any caution may be one of theirs.
    """
    # They are read with the tools of rules.loading, which itself runs these checks.
    from rules.loading.checked import PackRefused
    from rules.materials.identification.reading import load_tables

    paths = (path for files in pack.files.values() for path in files)
    if not any(path == f"{_KEY}.yaml" or path.startswith(f"{_KEY}/") for path in paths):
        return (), frozenset()
    try:
        tests = load_tables(pack).tests.values()
    except PackRefused as refused:
        return refused.findings, frozenset(pack.cautions)
    return (), frozenset(caution for test in tests for caution in test.cautions)
