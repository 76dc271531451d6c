from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.materials.markings import (
    Compound,
    Filler,
    Marking,
    MarkingError,
    Polymer,
    Recyclate,
    parse_compound,
    parse_marking,
    symbols,
)


def test_blend_keeps_its_order_and_its_filler_belongs_to_the_whole() -> None:
    marking = parse_marking(">PP+EPDM-T20<")
    assert marking == Marking((Compound((Polymer("PP"), Polymer("EPDM")), (Filler("T", None, None, 20),)),))


def test_share_of_a_mixture_may_be_given_for_the_whole() -> None:
    compound = parse_compound("PA66-(GF+MD)40")
    assert compound.fillers == (Filler("G", "F"), Filler("M", "D"))
    assert compound.mixture_pct == 40


def test_additions_come_in_either_order_and_are_written_in_one() -> None:
    assert str(parse_marking(">PC+ABS-FR(40+17)-GF10<")) == ">PC+ABS-GF10-FR(40+17)<"


def test_a_part_of_several_materials_is_read_whole() -> None:
    assert [str(compound) for compound in parse_marking(">PVC-P,PUR,ABS<").compounds] == [
        "PVC-P",
        "PUR",
        "ABS",
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("PE-MD", Compound((Polymer("PE", "MD"),))),
        ("PE-MD15", Compound((Polymer("PE"),), (Filler("M", "D", None, 15),))),
        ("PP-MD", Compound((Polymer("PP"),), (Filler("M", "D"),))),
        ("PVC-P20", Compound((Polymer("PVC"),), (Filler("P", None, None, 20),))),
        ("PVC-P(DBP)", Compound((Polymer("PVC", "P", "DBP"),))),
        ("PVC-P(REC30)", Compound((Polymer("PVC", "P", recyclate=Recyclate(30)),))),
        ("TPV-(EPDM+PP)", Compound((Polymer("TPV", phases=("EPDM", "PP")),))),
        (
            "TPU-(GF10+MD5)",
            Compound((Polymer("TPU"),), (Filler("G", "F", None, 10), Filler("M", "D", None, 5))),
        ),
    ],
)
def test_letters_with_two_meanings_are_told_apart(text: str, expected: Compound) -> None:
    assert parse_compound(text) == expected


def test_a_well_formed_symbol_in_no_table_is_read_and_said_to_be_unknown() -> None:
    polymer = parse_marking(">XQZ7-GF30<").compounds[0].polymers[0]
    assert (polymer.symbol, polymer.known, polymer.name) == ("XQZ7", False, None)
    assert not parse_marking(">PC+XQZ7<").known
    assert not parse_marking(">TPV-(XQZ7+PP)<").known


@pytest.mark.parametrize("symbol", ["PA6", "PA66", "PA6/66", "PA6T/66", "EPDM", "TPO", "UP"])
def test_symbols_of_polyamides_rubbers_and_elastomers_are_known(symbol: str) -> None:
    assert Polymer(symbol).known


@pytest.mark.parametrize("symbol", ["PA67", "PA6/67", "PA6/"])
def test_polyamide_numbers_are_a_closed_list(symbol: str) -> None:
    assert not Polymer(symbol).known


@pytest.mark.parametrize(
    ("text", "position", "read", "expected"),
    [
        ("", 1, "", "'>'"),
        ("PP<", 1, "P", "'>'"),
        (">PP", 4, "", "'<'"),
        (">pp<", 2, "p", "capital letters"),
        (">P<", 2, "P", "two or more"),
        ("  >PP< x", 7, " ", "no blank"),
        (">PP-T 20<", 6, " ", "no blank"),
        (">PC/ABS<", 4, "/", "'+'"),
        (">PA6/<", 6, "<", "other part"),
        (">PC+<", 5, "<", "polymer"),
        (">PP+PP<", 5, "PP", "another polymer"),
        (">PP-T<", 6, "<", "form letter or the %"),
        (">PP-LGF30<", 5, "LGF", "filler"),
        (">PP-GF0<", 7, "0", "1 to 99"),
        (">PP-GF030<", 7, "030", "leading zeros"),
        (">PP-GF100<", 7, "100", "1 to 99"),
        (">PP-GF30-T10<", 10, "T", "(GF25+MD15)"),
        (">PP-(GF30)<", 10, ")", "mixture"),
        (">PP-(GF60+MD40)<", 5, "(GF60+MD40)", "these make 100 %"),
        (">PP-(GF20+MD20)40<", 16, "40", "not both"),
        (">PP-(GF20+GF10)<", 11, "GF10", "another filler"),
        (">PP-MED(Qx)20<", 9, "Qx", "metal"),
        (">PP-FR<", 5, "F", "FR("),
        (">PP-FR(4)<", 8, "4", "two digits"),
        (">PP-FR(40+40)<", 11, "40", "another code"),
        (">PP-FR(40)-FR(17)<", 12, "F", "no second FR"),
        (">PVC-P()<", 8, ")", "plasticiser"),
        (">ABS(REX30)<", 6, "R", "REC"),
        (">ABS(REC101)<", 9, "101", "1 to 100"),
        (">PP-GF30-HI<", 10, "H", "no second filler"),
        (">PP<>", 5, ">", "nothing after"),
        (">" + "P" * 300 + "<", 201, "P", "at most 200"),
    ],
)
def test_a_malformed_marking_is_refused_with_position_reading_and_expectation(
    text: str, position: int, read: str, expected: str
) -> None:
    with pytest.raises(MarkingError) as refused:
        parse_marking(text)
    error = refused.value
    assert (error.position, error.read, error.text) == (position, read, text)
    assert expected in error.expected
    assert f"position {position}" in str(error)


VALID = (
    ">PP<",
    ">PS-HI-GF20<",
    ">PA66-(GF25+MD15)<",
    ">PA6/66-(GF+MD)40<",
    ">PC+ABS-FR(40)<",
    ">PP+EPDM-T20<",
    ">PVC-P(DBP)<",
    ">ABS(REC30)+PC<",
    ">TPV-(EPDM+PP)-T10<",
    ">PP-MED(Al)20<",
    ">PVC-P,PUR,ABS<",
)


def check_read_or_refused(text: str) -> None:
    """`text` is read, and read again as it is written; or it is refused at a place that is in it."""
    try:
        marking = parse_marking(text)
    except MarkingError as refused:
        error = refused
    else:
        assert parse_marking(str(marking)) == marking
        return
    assert 1 <= error.position <= len(text) + 1
    assert text.startswith(error.read, error.position - 1)
    assert error.expected


def test_every_spoilt_marking_gives_a_positioned_error_and_no_other_exception() -> None:
    # None of these characters may stand anywhere in a marking, the last two are digits elsewhere.
    spoilt = [
        text[:place] + wrong + text[place:]
        for text in VALID
        for place in range(len(text) + 1)
        for wrong in ("$", "a", "é", "++", "--", "()", "٣", "²")
    ]
    assert len(spoilt) > 200
    for text in spoilt:
        with pytest.raises(MarkingError):
            parse_marking(text)
        check_read_or_refused(text)


@given(text=st.sampled_from(VALID), data=st.data())
@settings(max_examples=200)
def test_a_marking_with_characters_lost_doubled_or_swapped_is_read_or_refused(
    text: str, data: st.DataObject
) -> None:
    for _ in range(data.draw(st.integers(1, 3))):
        start, end = sorted(data.draw(st.tuples(st.integers(0, len(text)), st.integers(0, len(text)))))
        text = data.draw(st.sampled_from([text[:start] + text[end:], text[:end] + text[start:]]))
    check_read_or_refused(text)


@given(
    st.text(max_size=40) | st.text(alphabet=">PAET20+-(),<REC /", max_size=30).map(lambda text: f">PP{text}<")
)
@settings(max_examples=200)
def test_no_text_raises_anything_but_a_marking_error(text: str) -> None:
    check_read_or_refused(text)


SHARES = st.none() | st.integers(1, 40)
PLAIN = st.sampled_from(sorted({*symbols.POLYMERS, *symbols.RUBBERS, "PA66", "PA6/66", "XQZ7"}))
FILLERS = st.builds(
    lambda material, form, share: Filler(material, form, "Al" if material == "ME" else None, share),
    st.sampled_from(sorted(symbols.FILLER_MATERIALS)),
    # PE-LD and PE-MD are densities of polyethylene, so a powder is written with its share.
    st.sampled_from(sorted(set(symbols.FILLER_FORMS) - {"D"})),
    SHARES,
) | st.builds(Filler, st.sampled_from("TKM"), st.none() | st.just("D"), st.none(), st.integers(1, 40))


@st.composite
def polymers(draw: st.DrawFn) -> Polymer:
    symbol = draw(PLAIN | st.sampled_from(sorted(symbols.ELASTOMERS)))
    fitting = [one.letters for one in symbols.QUALIFIERS if symbols.qualifier_of(one.letters, symbol)]
    qualifier = draw(st.none() | st.sampled_from(fitting))
    plasticiser = draw(st.none() | st.sampled_from(["DBP", "DOP"])) if qualifier == "P" else None
    phases: tuple[str, ...] = ()
    if symbol in symbols.ELASTOMERS and not qualifier:
        phases = tuple(draw(st.lists(st.sampled_from(["EPDM", "PP", "NBR", "NR"]), unique=True, max_size=3)))
    recyclate = draw(st.none() | st.builds(Recyclate, st.none() | st.integers(1, 100)))
    return Polymer(symbol, qualifier, plasticiser, phases, recyclate)


@st.composite
def compounds(draw: st.DrawFn) -> Compound:
    blend = draw(
        st.lists(polymers(), min_size=1, max_size=3, unique_by=lambda one: (one.symbol, one.qualifier))
    )
    fillers = draw(st.lists(FILLERS, max_size=2, unique_by=lambda one: (one.material, one.form, one.element)))
    whole = len(fillers) == 2 and all(filler.percent is None for filler in fillers)
    codes = draw(st.lists(st.integers(10, 99), max_size=2, unique=True))
    return Compound(tuple(blend), tuple(fillers), draw(SHARES) if whole else None, tuple(codes))


@given(st.lists(compounds(), min_size=1, max_size=2))
@settings(max_examples=200)
def test_what_is_written_from_a_structure_is_read_as_that_structure(parts: list[Compound]) -> None:
    marking = Marking(tuple(parts))
    if len(str(marking)) <= 200:
        assert parse_marking(str(marking)) == marking
        assert parse_marking(f" {marking}\n") == marking


def test_every_table_of_symbols_names_its_source() -> None:
    tables = {name for name in vars(symbols) if name.isupper() and name not in ("SOURCES", "METALS")}
    assert set(symbols.SOURCES) == tables
    assert all(symbols.SOURCES.values())
