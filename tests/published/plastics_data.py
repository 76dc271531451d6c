"""The base pack's substrate table, and the data files of this folder."""

from functools import cache
from pathlib import Path
from typing import Any

import yaml

from rules.loading import BASE_PACK, load_folder
from rules.pack import Figure, Pack, Substrate

DATA = Path(__file__).parent / "data"


@cache
def base_pack() -> Pack:
    return load_folder(BASE_PACK)


def base_substrates() -> dict[str, Substrate]:
    return dict(base_pack().substrates)


def data_file(name: str) -> Any:
    return yaml.safe_load((DATA / name).read_text(encoding="utf-8"))


def middle(figure: Figure) -> float:
    return (figure.low + figure.high) / 2
