from __future__ import annotations

import pytest

from rules.loading import BASE_PACK, load_folder
from rules.materials.resolve import MaterialUnknown, resolve
from rules.pack import Pack


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_folder(BASE_PACK)


def test_every_row_answers_to_its_symbol_its_aliases_and_its_marking(pack: Pack) -> None:
    for row in pack.substrates.values():
        for text in (row.symbol, f" {row.symbol.lower()}", f">{row.symbol}<", *row.aliases):
            assert resolve(pack, text).symbol == row.symbol, text


@pytest.mark.parametrize(
    ("marking", "symbol"),
    [
        (">PP+EPDM-T20<", "PP+EPDM-T20"),
        (">PP+EPDM-TD20<", "PP+EPDM-T20"),
        (">PP+EPDM-M25<", "PP+EPDM-T20"),
        (">PP/EPDM-TD20<", "PP+EPDM-T20"),
        (">PP+EPDM-T12-FR(40)<", "PP+EPDM-T10"),
        (">PP-T15<", "PP-T20"),
        (">PP-GF40<", "PP-GF30"),
        (">PA66-(GF25+MD15)<", "PA66-GF30"),
        (">PA6-GF15<", "PA6-GF30"),
        (">ABS(REC30)<", "ABS"),
        (">UP-GF25<", "UP-GF"),
        (">UP-(GF30+K40)<", "UP-GF"),
        (">PVC-P(DBP)<", "PVC-P"),
        (">PUR<", "PUR"),
        (">TPV-(EPDM+PP)<", "TPV"),
        (">PC+ABS-FR(40)<", "PC+ABS"),
    ],
)
def test_common_markings_find_their_row(pack: Pack, marking: str, symbol: str) -> None:
    assert resolve(pack, marking).symbol == symbol


@pytest.mark.parametrize(
    "marking", [">PPS-GF40<", ">PC-GF20<", ">PP-E<", ">PE-X<", ">PA12<", ">ABS+PA<", ">PTFE<"]
)
def test_a_material_without_a_row_is_refused_and_not_guessed(pack: Pack, marking: str) -> None:
    with pytest.raises(MaterialUnknown):
        resolve(pack, marking)
