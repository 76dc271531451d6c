from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from material_samples import pack_of, row

from rules.materials.nearest import By
from rules.materials.resolve import MaterialUnknown, resolve, resolve_all, resolve_with_notes

PACK = pack_of(
    row("PP"),
    row("PP-T20"),
    row("PP-T40"),
    row("PP-GF30"),
    row("PP+EPDM", aliases=("TPO",)),
    row("PP+EPDM-T20", aliases=("TEO", "bumper plastic")),
    row("PE-HD"),
    row("ABS"),
    row("PC+ABS"),
    row("PVC-P"),
    row("PA66-GF33"),
    row("PA66-GF50"),
    row("TPV"),
    row("PUR", aliases=("RIM",)),
    row("unknown"),
)


@pytest.mark.parametrize("symbol", sorted(PACK.substrates))
def test_every_row_is_found_by_its_symbol_and_by_its_marking(symbol: str) -> None:
    assert resolve(PACK, symbol).symbol == symbol
    assert resolve(PACK, f"  {symbol.lower()} ").symbol == symbol
    if symbol != "unknown":
        found = resolve_with_notes(PACK, f">{symbol}<")
        assert (found.substrate.symbol, found.notes) == (symbol, ())


@pytest.mark.parametrize(
    ("text", "symbol", "by"),
    [
        ("PP+EPDM-T20", "PP+EPDM-T20", By.SYMBOL),
        ("pp+epdm-t20", "PP+EPDM-T20", By.SYMBOL),
        ("teo", "PP+EPDM-T20", By.ALIAS),
        ("Bumper Plastic", "PP+EPDM-T20", By.ALIAS),
        (">TEO<", "PP+EPDM-T20", By.ALIAS),
        (">pp+epdm-t20<", "PP+EPDM-T20", By.SYMBOL),
        (">PP+EPDM-TD15<", "PP+EPDM-T20", By.NEAREST),
        (">TPO-T15<", "PP+EPDM-T20", By.NEAREST),
        (">TPO-T20<", "PP+EPDM-T20", By.MARKING),
        (">PP-T29<", "PP-T20", By.NEAREST),
        (">PP-T30<", "PP-T20", By.NEAREST),
        (">PP-T31<", "PP-T40", By.NEAREST),
        (">PP-(GF20+T10)<", "PP-GF30", By.NEAREST),
        (">PP-H-M15<", "PP-T20", By.NEAREST),
        (">PP-K38<", "PP-T40", By.NEAREST),
        (">PP-GF<", "PP-GF30", By.NEAREST),
        (">PA66-GF41<", "PA66-GF33", By.NEAREST),
        (">PA66-GF42<", "PA66-GF50", By.NEAREST),
        (">PA66-(GF25+MD25)<", "PA66-GF33", By.NEAREST),
        (">PP-(T10+GF20)<", "PP-GF30", By.NEAREST),
        (">TEO-FR(40)<", "PP+EPDM-T20", By.MARKING),
        ("PA66-GF30", "PA66-GF33", By.NEAREST),
        (">PP-R<", "PP", By.NEAREST),
        (">ABS-FR(17)<", "ABS", By.MARKING),
        (">ABS(REC30)<", "ABS", By.MARKING),
        (">PVC-P(DBP)<", "PVC-P", By.MARKING),
        (">TPV-(EPDM+PP)<", "TPV", By.NEAREST),
        ("Unknown", "unknown", By.SYMBOL),
    ],
)
def test_text_is_resolved_by_the_stated_rule(text: str, symbol: str, by: By) -> None:
    found = resolve_with_notes(PACK, text)
    assert (found.substrate.symbol, found.by) == (symbol, by)
    assert bool(found.notes) == (by is not By.SYMBOL)


def test_notes_say_what_was_not_told_apart() -> None:
    notes = resolve_with_notes(PACK, ">PP-HI(REC30)-T15-FR(40)<").notes
    assert notes[0] == "PP-HI(REC30) is taken as PP(REC30)"
    assert "taken as PP-T20" in notes[1]
    assert "mineral" in notes[1]
    assert "FR(40), organic phosphorus compounds" in notes[2]
    assert "recycled content" in notes[3]


@pytest.mark.parametrize(
    ("text", "detail", "suggestion"),
    [
        (">EPDM+PP<", "another is not guessed", None),
        (">PE<", "another is not guessed", "PE-HD"),
        (">PE-LD<", "another is not guessed", "PE-HD"),
        (">PVC<", "another is not guessed", "PVC-P"),
        (">PP-E<", "another is not guessed", "PP"),
        (">PP-X-T20<", "another is not guessed", "PP-T20"),
        (">ABS-GF20<", "none is filled with glass fibre", "ABS"),
        (">PC+ABS-T5<", "none is filled with mineral", "PC+ABS"),
        (">PP-TD<", "gives no % by mass", "PP-T20"),
        (">PP-W20<", "none is filled with wood", "PP-T20"),
        (">XQZ7-GF30<", "names XQZ7", None),
        (">PVC-P,PUR,ABS<", "several materials", "PUR"),
        (">PVC-P,XQZ7<", "names XQZ7", None),
        ("tpo!", "no trade name", "PP+EPDM"),
        ("PPP", "names PPP", "PP"),
        ("", "no trade name", None),
        ("   ", "no trade name", None),
    ],
)
def test_no_row_is_ever_guessed(text: str, detail: str, suggestion: str | None) -> None:
    with pytest.raises(MaterialUnknown) as refused:
        resolve(PACK, text)
    error = refused.value
    assert detail in error.detail
    assert error.text == text
    assert error.position is None
    assert set(error.suggestions) <= set(PACK.substrates)
    assert suggestion is None or suggestion in error.suggestions


def test_a_malformed_marking_names_the_position_in_the_text_as_given() -> None:
    with pytest.raises(MaterialUnknown) as refused:
        resolve(PACK, "  >PP-T0<")
    assert refused.value.position == 8
    assert "position 8" in str(refused.value)


@pytest.mark.parametrize(("text", "position"), [(">PP", 4), ("PP<", 1), (">", 2), ("<", 1), ("><", 2)])
def test_half_a_marking_is_not_read_as_a_symbol(text: str, position: int) -> None:
    with pytest.raises(MaterialUnknown) as refused:
        resolve(PACK, text)
    assert refused.value.position == position


def test_every_material_of_a_part_of_several_is_found() -> None:
    found = resolve_all(PACK, " >abs,TEO,PP-T15<")
    assert [one.substrate.symbol for one in found] == ["ABS", "PP+EPDM-T20", "PP-T20"]


def test_rows_of_another_order_are_the_same_blend_but_the_main_polymer_counts() -> None:
    pack = pack_of(row("PPE+PS+PA66"))
    assert resolve(pack, ">PPE+PA66+PS<").symbol == "PPE+PS+PA66"
    with pytest.raises(MaterialUnknown):
        resolve(pack, ">PS+PPE+PA66<")


def test_exact_spelling_goes_before_letter_case_and_before_aliases() -> None:
    pack = pack_of(row("CO", aliases=("Co",)), row("Co"))
    assert resolve(pack, "Co").symbol == "Co"
    assert resolve(pack, "CO").symbol == "CO"


@given(st.text(max_size=80))
@settings(max_examples=150)
def test_any_text_is_resolved_or_refused(text: str) -> None:
    with suppress(MaterialUnknown):
        assert resolve(PACK, text).symbol in PACK.substrates
