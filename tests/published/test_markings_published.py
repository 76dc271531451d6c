"""Markings against examples printed in the standards, and in texts about them."""

from __future__ import annotations

import pytest

from rules.materials.markings import Compound, Filler, Polymer, Recyclate, parse_compound, parse_marking
from rules.materials.markings.fillers import filler_from
from rules.materials.markings.symbols import polymer_name


def test_examples_of_iso_1043_2_are_read_as_it_explains_them() -> None:
    # ISO 1043-2:2011, clause 2, examples 1 to 4 as shown in public previews of the standard.
    named = {letters: filler.name for letters in ("GF", "GCM", "MD") if (filler := filler_from(letters))}
    assert named == {"GF": "glass fibre", "GCM": "glass chopped-strand mat", "MD": "mineral powder"}
    assert parse_compound("PP-(GF+MD)").fillers == (Filler("G", "F"), Filler("M", "D"))
    metal = parse_compound("PP-MED(Al)").fillers[0]
    assert (metal, metal.name) == (Filler("ME", "D", "Al"), "metal powder")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # ISO 11469:2016, by texts about it (the standard itself was not read).
        (">PS-HI-GF20<", Compound((Polymer("PS", "HI"),), (Filler("G", "F", None, 20),))),
        (
            ">PA66-(GF25+MD15)<",
            Compound((Polymer("PA66"),), (Filler("G", "F", None, 25), Filler("M", "D", None, 15))),
        ),
        (">ABS(REC30)<", Compound((Polymer("ABS", recyclate=Recyclate(30)),))),
        (">PVC-P(DBP)<", Compound((Polymer("PVC", "P", "DBP"),))),
        # ISO 11469 and ISO 18064, from memory.
        (">PC+ABS<", Compound((Polymer("PC"), Polymer("ABS")))),
        (">PP+EPDM-T20<", Compound((Polymer("PP"), Polymer("EPDM")), (Filler("T", None, None, 20),))),
        (">TPV-(EPDM+PP)<", Compound((Polymer("TPV", phases=("EPDM", "PP")),))),
        # ISO 1043-4: FR and one or more code numbers (public abstract); 40 from memory.
        (">PC+ABS-FR(40)<", Compound((Polymer("PC"), Polymer("ABS")), flame_retardants=(40,))),
    ],
)
def test_published_marking_is_read_and_written_back(text: str, expected: Compound) -> None:
    marking = parse_marking(text)
    assert marking.compounds == (expected,)
    assert marking.known
    assert str(marking) == text


def test_symbols_named_in_iso_1043_1_iso_1629_and_iso_18064_are_known() -> None:
    # From memory of the standards' lists.
    basic = "PP PE ABS PC PA6 PA66 PBT PET POM PMMA PVC PS PUR UP EP PPE SAN ASA"
    elastomers = "EPDM TPA TPC TPO TPS TPU TPV TPZ"
    assert [symbol for symbol in f"{basic} {elastomers}".split() if polymer_name(symbol) is None] == []
    for qualified in ("PE-HD", "PE-LD", "PVC-U", "PVC-P", "PS-HI"):
        symbol, qualifier = qualified.split("-")
        assert parse_compound(qualified).polymers == (Polymer(symbol, qualifier),)
