"""The names that may be referred to, gathered before anything that refers is read."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from rules.pack import Stage
from rules.vocabulary import Fact


@dataclass(frozen=True)
class Known:
    """Declared names of one stack of packs.

    `facts` and `stages` hold what could be read; a name that is in `fact_names` or `stage_names`
    alone has been reported where it is declared and is not reported again where it is used.
    `outer_jurisdictions` are those that lie within no other.
    """

    fact_names: Collection[str] = ()
    stage_names: Collection[str] = ()
    cautions: Collection[str] = ()
    materials: Collection[str] = ()
    outer_jurisdictions: Collection[str] = ()
    rules: Collection[str] = ()
    phases: Collection[str] = ()
    resources: Collection[str] = ()
    labour: Collection[str] = ()
    facts: Mapping[str, Fact] = field(default_factory=dict)
    stages: Mapping[str, Stage] = field(default_factory=dict)
