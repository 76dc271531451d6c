"""One edit of the files of the base pack."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from typing import Any

import yaml

from rules.loading import BASE_PACK, read_folder

Thing = dict[str, Any]
Address = tuple[Any, ...]
GONE = object()
TWICE = object()


@dataclass(frozen=True)
class Planting:
    """One edit: its kind, the file and the address in it, and what is written there."""

    kind: str
    path: str
    address: Address
    new: Any

    @property
    def told(self) -> str:
        """The edit in one line."""
        section, key, *inside = self.address
        thing = parsed()[self.path][section][key]
        name = key if isinstance(key, str) else thing["id"]
        new = {id(GONE): "gone", id(TWICE): "twice"}.get(id(self.new), self.new)
        return f"{self.path}, {name}, {'.'.join(map(str, inside)) or 'all of it'}: {new}"

    def files(self) -> dict[str, str]:
        """The base pack with the edit done."""
        file = deepcopy(parsed()[self.path])
        *above, last = self.address
        parent = file
        for step in above:
            parent = parent[step]
        if self.new is GONE:
            del parent[last]
        elif self.new is TWICE:
            parent.insert(last, {**deepcopy(parent[last]), "id": "the-same-again"})
        else:
            parent[last] = self.new
        text = yaml.dump(file, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=10_000)
        return {**base_files(), self.path: text}


class _Dumper(yaml.SafeDumper):
    """Writes things out that stand in a file twice."""

    def ignore_aliases(self, data: object) -> bool:
        return True


@cache
def base_files() -> Mapping[str, str]:
    return read_folder(BASE_PACK)


@cache
def parsed() -> Mapping[str, Any]:
    return {path: yaml.safe_load(text) for path, text in base_files().items()}


@cache
def declared_facts() -> Mapping[str, Thing]:
    return {name: fact for file in parsed().values() for name, fact in file.get("facts", {}).items()}
