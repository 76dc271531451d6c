"""Reading a pack from a folder: what is read, what is passed over, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiny_pack import OVERLAY_HEADER, SMALL, written

from rules.loading import BASE_PACK, PackRefused, check_files, check_folder, load_folder, read_folder
from rules.loading.bounds import MAX_FILE_BYTES, MAX_FILES


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return written(SMALL, tmp_path / "pack")


def codes(folder: Path) -> list[str]:
    return [found.code for found in check_folder(folder).findings]


def test_a_folder_is_read_as_the_texts_in_it(folder: Path):
    assert read_folder(folder) == SMALL
    assert load_folder(folder) == check_files([SMALL]).pack


def test_other_files_and_hidden_ones_are_passed_over(folder: Path):
    written(
        {"README.md": "Hello.", ".git/config.yaml": "a: [", "rules/.refinish.yaml.swp": "", ".x.yaml": "["},
        folder,
    )
    assert read_folder(folder) == SMALL


def test_nested_folders_are_read(folder: Path):
    (folder / "rules" / "deep" / "down").mkdir(parents=True)
    (folder / "rules" / "refinish.yaml").rename(folder / "rules" / "deep" / "down" / "refinish.yaml")
    pack = load_folder(folder)
    assert pack.rules["promote"].place.file == "rules/deep/down/refinish.yaml"


def test_line_ends_and_byte_order_marks_of_other_editors_are_read(folder: Path):
    rules = folder / "rules" / "refinish.yaml"
    rules.write_bytes(b"\xef\xbb\xbf" + rules.read_bytes().replace(b"\n", b"\r\n"))
    pack = load_folder(folder)
    assert (pack.rules["promote"].place.line, pack.rules["promote"].place.column) == (7, 5)


@pytest.mark.parametrize(("size", "expected"), [(MAX_FILE_BYTES, []), (MAX_FILE_BYTES + 1, ["R002"])])
def test_a_file_may_have_512_kib(folder: Path, size: int, expected: list[str]):
    start = "cases: [] #"
    (folder / "more.yaml").write_text(start + "x" * (size - len(start)))
    assert codes(folder) == expected


@pytest.mark.parametrize(("number", "expected"), [(MAX_FILES, []), (MAX_FILES + 1, ["R002"])])
def test_a_pack_may_have_200_files(folder: Path, number: int, expected: list[str]):
    for each in range(number - len(SMALL)):
        (folder / f"more-{each}.yaml").write_text("cases: []\n")
    assert codes(folder) == expected


def test_a_pack_from_elsewhere_has_the_same_bounds():
    files = {**SMALL, **{f"more-{each}.yaml": "cases: [] #" + "x" * (500 * 1024) for each in range(9)}}
    (found,) = check_files([files]).findings
    assert (found.code, found.place.file) == ("R002", "more-8.yaml")
    assert [found.code for found in check_files([{**SMALL, "../out.yaml": "cases: []"}]).findings] == ["R013"]


@pytest.mark.parametrize("name", ["paint.yml", "PAINT.YAML", "two words.yaml", "größe.yaml"])
def test_a_file_that_would_be_passed_over_is_refused(folder: Path, name: str):
    (folder / name).write_text("cases: []\n")
    assert codes(folder) == ["R013"]


def test_a_link_inside_the_folder_is_followed_and_one_to_a_folder_refused(folder: Path):
    (folder / "rules" / "refinish.yaml").rename(folder / ".kept")
    (folder / "rules" / "refinish.yaml").symlink_to(folder / ".kept")
    assert read_folder(folder) == SMALL
    (folder / "again").symlink_to(folder / "rules")
    assert codes(folder) == ["R003"]


def test_a_link_to_nothing_is_refused(folder: Path):
    (folder / "more.yaml").symlink_to(folder / "nothing.yaml")
    assert codes(folder) == ["R001"]


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path):
    with pytest.raises(PackRefused, match="R001 this is no folder"):
        read_folder(tmp_path / "nothing")


def test_a_folder_that_extends_base_is_laid_on_the_pack_of_the_service(tmp_path: Path):
    header = OVERLAY_HEADER.replace("extends: small", "extends: base")
    folder = written({"pack.yaml": header}, tmp_path)
    pack, base = load_folder(folder), load_folder(BASE_PACK)
    assert pack.name == "shop"
    assert pack.rules == base.rules
    assert list(pack.files) == ["base", "shop"]


def test_the_pack_of_the_service_has_no_findings():
    assert check_folder(BASE_PACK).findings == ()
