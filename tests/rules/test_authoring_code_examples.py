"""What the page of a code calls refused is refused with that code alone; what it calls sound is not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

import planted_packs
import pytest
from planted_faults import (
    OF_CASES,
    OF_FILES,
    OF_OVERLAYS,
    OF_PACKS,
    OF_REFERENCES,
    OF_THINGS,
    OVERLAY,
    Planted,
)
from planted_packs import IN_ENGINES, IN_FOLDERS
from planted_proof_faults import COME_ALONG, OF_PROOF
from tiny_pack import OVERLAY_HEADER, RULES, SMALL, written

from planning.order import ordered
from planning.timing.keeping import why_not_kept
from rules.cases import failures, run_cases
from rules.codes import CODES
from rules.decider import Decider
from rules.engines.reference import ReferenceEngine
from rules.loading import check_files, check_folder
from rules.proof.proving import prove

Stack = Sequence[Mapping[str, str]]

PLANTED = {
    each.code: each
    for each in (*OF_FILES, *OF_THINGS, *OF_REFERENCES, *OF_OVERLAYS, *OF_PACKS, *OF_CASES, *OF_PROOF)
}
IN_THE_SMALL_PACK = {
    "R011": "rules/refinish.yaml",
    "R140": "pack.yaml",
    "R203": "rules/refinish.yaml",
    "R207": "stages.yaml",
    "R208": "stages.yaml",
}
"""Good examples that do not stand where the bad one would, but elsewhere in the sound pack as it is."""


def codes_of(stack: Stack) -> set[str]:
    """What checking finds; where it finds nothing, what the cases and the proof find."""
    checked = check_files(stack)
    if checked.findings:
        return {found.code for found in checked.findings}
    pack = checked.pack
    order = lambda pack, stages: ordered(pack.stages, stages, pack.phases)  # noqa: E731
    results = run_cases(pack, checked.cases, Decider(pack, ReferenceEngine(pack)), order)
    # Only a pack that stands alone needs cases of its own.
    return {found.code for found in failures(pack, results)} if len(stack) == 1 or results else set()


def proof_codes_of(stack: Stack) -> set[str]:
    checked = check_files(stack)
    if checked.findings:
        return {found.code for found in checked.findings}
    faults = prove(checked.pack, checked.assertions, partial(why_not_kept, checked.pack)).faults
    return {fault.code for fault in faults}


def with_good(planted: Planted) -> Stack:
    """The packs with the good example where the bad one is planted."""
    good = CODES[planted.code].good
    over = planted.over or planted.code == "R144"
    files = {"pack.yaml": OVERLAY_HEADER} if planted.code == "R144" else OVERLAY if over else SMALL
    text = files.get(planted.file, "")
    if not planted.old:
        placed = f"{text}{good}\n"
    else:
        start = text.index(planted.old)
        indent = " " * (start - text.rfind("\n", 0, start) - 1)
        new = f"{planted.old}\n{good}" if planted.beside and good != planted.old else good
        placed = text.replace(planted.old, new.replace("\n", "\n" + indent))
    changed = {**files, planted.file: placed}
    return [SMALL, changed] if over else [changed]


@pytest.mark.parametrize("code", sorted(PLANTED))
def test_the_bad_example_is_refused_with_its_code_alone(code: str) -> None:
    find = proof_codes_of if code.startswith("R6") else codes_of
    assert find(PLANTED[code].stack) == {code} | COME_ALONG.get(code, set())


@pytest.mark.parametrize("code", sorted(PLANTED.keys() - IN_THE_SMALL_PACK.keys()))
def test_the_good_example_in_the_place_of_the_bad_one_is_sound(code: str) -> None:
    stack = with_good(PLANTED[code])
    assert CODES[code].good.split("\n")[0].strip() in stack[-1][PLANTED[code].file]
    assert (proof_codes_of if code.startswith("R6") else codes_of)(stack) == set()


@pytest.mark.parametrize(("code", "file"), IN_THE_SMALL_PACK.items())
def test_the_good_example_stands_in_the_sound_pack(code: str, file: str) -> None:
    assert CODES[code].good in (OVERLAY_HEADER if code == "R140" else SMALL[file])


def test_the_small_pack_and_the_overlay_on_it_are_sound() -> None:
    assert codes_of([SMALL]) == proof_codes_of([SMALL]) == codes_of([SMALL, OVERLAY]) == set()


# Faults of a folder.


def _two_files(folder: Path) -> None:
    for name in ("paint", "prime"):
        (folder / "rules" / f"{name}.yaml").write_text("rules: []\n#" + "#" * (300 * 1024))


GOOD_FOLDERS: dict[str, Callable[[Path], object]] = {
    "R001": lambda folder: folder / "pack.yaml",
    "R002": _two_files,
    "R003": lambda folder: (folder / "rules" / "shared.yaml").write_text("rules: []\n"),
    "R013": lambda folder: (folder / "rules" / "paint.yaml").write_text("rules: []\n"),
    "R018": lambda folder: (folder / "more.yaml").write_text("cases: []\n"),
}


@pytest.mark.parametrize("planted", IN_FOLDERS, ids=lambda planted: planted.code)
def test_a_folder_is_refused_with_its_code(planted, tmp_path: Path) -> None:
    folder = written(SMALL, tmp_path / "pack")
    planted.plant(folder)
    # What fills a file with faults until nobody reads on has these beside it.
    along = {"R011", "R103"} if planted.code == "R018" else set()
    assert {found.code for found in check_folder(folder).findings} - along == {planted.code}


@pytest.mark.parametrize("code", GOOD_FOLDERS)
def test_a_sound_folder_is_not_refused(code: str, tmp_path: Path) -> None:
    folder = written(SMALL, tmp_path / "pack")
    GOOD_FOLDERS[code](folder)
    assert check_folder(folder).findings == ()


# What the rules engine cannot take.


def small_with(*rules: str, facts: str = "") -> Stack:
    return [{**SMALL, "rules/refinish.yaml": RULES + "".join(rules), "more.yaml": facts or "cases: []\n"}]


def outside_ranges(numbers: int) -> Stack:
    """A rule by which so many numbers each lie outside a range."""
    bounds = "minimum: 0, maximum: 9, cut_points: [3, 6], default: 0"
    declared = "".join(
        f"  size_{each}: {{about: A size., kind: number, {bounds}, given_as: /part/size_{each}}}\n"
        for each in range(numbers)
    )
    lines = ", ".join(f"size_{each}: {{not: {{at_least: 3, below: 6}}}}" for each in range(numbers))
    return small_with(planted_packs._rule("r", f"{{{lines}}}"), facts="facts:\n" + declared)


GOOD_FOR_ENGINES: dict[str, Callable[[], Stack]] = {
    "R301": lambda: small_with(*(planted_packs._rule(f"r-{each}", "always") for each in range(1000 - 5))),
    "R302": lambda: outside_ranges(5),
    "R303": lambda: small_with(
        planted_packs._rule("r", f"{{any: {planted_packs._alternatives(11)}}}"),
        facts=planted_packs._shades(14),
    ),
    "R304": lambda: small_with(
        planted_packs._rule("r", "{shade: {not: s300}}"), facts=planted_packs._shades(301)
    ),
    "R305": lambda: [planted_packs._chain(10)],
}


@pytest.mark.parametrize("planted", IN_ENGINES, ids=lambda planted: planted.code)
def test_a_pack_beyond_the_engine_is_refused_with_its_code(planted) -> None:
    stack = outside_ranges(6) if planted.code == "R302" else [planted.files]
    assert {found.code for found in check_files(stack).findings} == {planted.code}


@pytest.mark.parametrize("code", GOOD_FOR_ENGINES)
def test_a_pack_that_the_engine_takes_is_not_refused(code: str) -> None:
    assert check_files(GOOD_FOR_ENGINES[code]()).findings == ()


# Tables by which a material is identified.

TABLES = f"""\
{CODES["R501"].good}
  never:
    - {{test: burn, why: Its fumes are poisonous.}}
  tests:
    - id: float
      question: Does it float?
      how: [Put it into water.]
      safety: Cut away from the hand.
      results: {{floats: It rises., sinks: It goes down.}}
      source: invented
    - id: warm_air
      question: Does it soften?
      how: [Warm it.]
      safety: Outdoors.
      results: {{softens: It gives., no_change: It stays.}}
      source: invented
  likelihoods:
    - test: float
      substrates: [ABS]
      figure: {{name: density_g_per_cm3, cuts: [1], results: [floats, sinks], error: 0.1}}
      why: Its density.
      source: derived
    - test: float
      substrates: [PP]
      likely: {{floats: 0.9, sinks: 0.1}}
      why: Its density.
      source: invented
    - test: warm_air
      when: {{surface_energy: low}}
      likely: {{softens: 0.9, no_change: 0.1}}
      why: It melts.
      source: invented
    - test: warm_air
      when: {{surface_energy: {{not: low}}}}
      likely: {{softens: 0.8, no_change: 0.2}}
      why: It melts too.
      source: invented
  priors:
    - part: any part
      weights: {{PP: 2, ABS: 1}}
      others: 1
      source: invented
"""


def with_tables(text: str) -> Stack:
    return [{**SMALL, "identification.yaml": text}]


def with_bad_table(code: str) -> Stack:
    good, bad = CODES[code].good, CODES[code].example
    if code == "R501":
        return with_tables(bad + "\n")
    if code == "R508":  # The test and what is said of it.
        return with_tables(TABLES.replace(good.removeprefix("id: "), bad.removeprefix("id: ")))
    return with_tables(TABLES.replace(good, bad, 1))


@pytest.mark.parametrize("code", sorted(code for code in CODES if code.startswith("R5")))
def test_a_table_is_refused_with_its_code_alone(code: str) -> None:
    assert CODES[code].good in TABLES
    assert codes_of(with_bad_table(code)) == {code}


def test_sound_tables_are_not_refused() -> None:
    assert codes_of(with_tables(TABLES)) == set()


def test_every_code_is_tried() -> None:
    bad = PLANTED.keys() | {each.code for each in (*IN_FOLDERS, *IN_ENGINES)}
    good = PLANTED.keys() | GOOD_FOLDERS.keys() | GOOD_FOR_ENGINES.keys()
    assert bad == good == {code for code in CODES if not code.startswith("R5")}
