from __future__ import annotations

import random
import stat
import zipfile
from collections.abc import Callable
from io import BytesIO

import pytest

from rules.loading.bounds import MAX_FILE_BYTES, MAX_FILES, MAX_PACK_BYTES
from schemas.pack_archive import MAX_ENTRIES, ArchiveRefused, files_in

Change = Callable[[zipfile.ZipInfo], None]


def archive(*entries: tuple[str, bytes], change: Change = lambda entry: None, packing: int = 8) -> bytes:
    content = BytesIO()
    with zipfile.ZipFile(content, "w", packing) as writing:
        for name, text in entries:
            entry = zipfile.ZipInfo(name)
            entry.compress_type = packing
            entry.external_attr = (stat.S_IFREG | 0o644) << 16
            change(entry)
            writing.writestr(entry, text)
    return content.getvalue()


def set_mode(mode: int) -> Change:
    def change(entry: zipfile.ZipInfo) -> None:
        entry.external_attr = mode << 16

    return change


def test_the_files_of_a_folder_are_read_wherever_they_lie() -> None:
    texts = {"pack.yaml": "pack: ü\n", "rules/a.yaml": "rules: []\n"}
    entries = [(name, text.encode()) for name, text in texts.items()]
    assert files_in(archive(*entries)) == texts
    assert files_in(archive(*[(f"my-pack/{name}", text) for name, text in entries])) == texts
    assert files_in(archive(*entries, packing=zipfile.ZIP_STORED)) == texts


def test_what_archivers_put_beside_the_files_is_passed_over() -> None:
    content = archive(
        ("p/", b""),
        ("p/pack.yaml", b"x"),
        ("p/.hidden.yaml", b"\xff"),
        ("__MACOSX/p/._pack.yaml", b"\xff"),
        ("p/README.md", b"\xff"),
    )
    assert files_in(content) == {"pack.yaml": "x"}


def test_a_file_nearly_named_yaml_is_handed_on_to_be_told() -> None:
    assert files_in(archive(("pack.yaml", b"x"), ("rules.yml", b"y"))) == {"pack.yaml": "x", "rules.yml": "y"}


@pytest.mark.parametrize(
    "name",
    [
        "../pack.yaml",
        "a/../../pack.yaml",
        "/etc/pack.yaml",
        "a//pack.yaml",
        "./pack.yaml",
        "a\\..\\pack.yaml",
        "C:/pack.yaml",
        "..",
        "a/../",
    ],
)
def test_a_path_that_leads_anywhere_else_is_refused(name: str) -> None:
    with pytest.raises(ArchiveRefused, match="leads out of the archive, or is no plain path"):
        files_in(archive(("pack.yaml", b"x"), (name, b"")))


def test_a_name_that_ends_at_a_nul_for_some_readers_is_refused() -> None:
    content = archive(("pack.yamlX.txt", b"x")).replace(b"yamlX.txt", b"yaml\0.txt")
    with pytest.raises(ArchiveRefused, match="no plain path"):
        files_in(content)


@pytest.mark.parametrize("mode", [stat.S_IFLNK | 0o777, stat.S_IFCHR | 0o666, stat.S_IFIFO | 0o666])
def test_links_and_devices_are_refused(mode: int) -> None:
    with pytest.raises(ArchiveRefused, match=r"'pack\.yaml' is a link or a device"):
        files_in(archive(("pack.yaml", b"/etc/passwd"), change=set_mode(mode)))


def test_an_entry_without_a_mode_is_a_file() -> None:
    assert files_in(archive(("pack.yaml", b"x"), change=set_mode(0))) == {"pack.yaml": "x"}


def test_an_encrypted_entry_is_refused() -> None:
    content = bytearray(archive(("pack.yaml", b"x")))
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(signature) + offset] |= 1
    with pytest.raises(ArchiveRefused, match="is encrypted"):
        files_in(bytes(content))


@pytest.mark.parametrize("packing", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_unusual_packings_are_refused(packing: int) -> None:
    with pytest.raises(ArchiveRefused, match="packed in an unusual way"):
        files_in(archive(("pack.yaml", b"x" * 100), packing=packing))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_is_there_twice_is_refused() -> None:
    with pytest.raises(ArchiveRefused, match="is there twice"):
        files_in(archive(("pack.yaml", b"x"), ("pack.yaml", b"y")))


def test_a_large_file_and_many_large_files_are_refused_before_they_are_unpacked() -> None:
    with pytest.raises(ArchiveRefused, match="KiB, more than 512"):
        files_in(archive(("pack.yaml", b"x" * (MAX_FILE_BYTES + 1))))
    each = b"x" * MAX_FILE_BYTES
    many = [(f"f{number}.yaml", each) for number in range(MAX_PACK_BYTES // MAX_FILE_BYTES + 1)]
    with pytest.raises(ArchiveRefused, match="KiB unpacked, more than 4096"):
        files_in(archive(*many))


def lying(content: bytes, size: int) -> bytes:
    """The archive, declaring another size of its only entry in both places."""
    changed = bytearray(content)
    for signature, offset in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = changed.index(signature) + offset
        changed[at : at + 4] = size.to_bytes(4, "little")
    return bytes(changed)


def test_a_bomb_that_declares_to_be_small_is_not_unpacked() -> None:
    bomb = archive(("pack.yaml", b"\0" * 50_000_000))
    assert len(bomb) < 100_000
    for declared in (10, MAX_FILE_BYTES):
        with pytest.raises(ArchiveRefused, match=r"damaged|unpacks to more"):
            files_in(lying(bomb, declared))


def test_many_entries_are_refused_before_they_are_read() -> None:
    many = archive(*[(f"f{number}.yaml", b"") for number in range(MAX_ENTRIES + 1)])
    with pytest.raises(ArchiveRefused, match=f"{MAX_ENTRIES + 1} entries, more than {MAX_ENTRIES}"):
        files_in(many)
    at = many.rindex(b"PK\x05\x06")
    # Declares that there are two.
    lies = many[: at + 8] + b"\2\0\2\0" + many[at + 12 :]
    with pytest.raises(ArchiveRefused, match=f"{MAX_ENTRIES + 1} entries, more than"):
        files_in(lies)
    assert MAX_FILES < MAX_ENTRIES


def test_entries_that_lie_over_one_another_unpack_to_no_more_than_a_pack_may_have() -> None:
    """Ten thousand names for one body is how a small archive unpacks to very much."""
    body = b"\0" * MAX_FILE_BYTES
    content = bytearray(archive(*[(f"f{number}.yaml", body) for number in range(9)]))
    first = content.index(b"PK\x01\x02")
    for number in range(9):
        at = first + number * (46 + len("f0.yaml"))
        content[at + 24 : at + 28] = (1).to_bytes(4, "little")  # declared size
        content[at + 42 : at + 46] = (0).to_bytes(4, "little")  # all at the first body
    with pytest.raises(ArchiveRefused):
        files_in(bytes(content))


@pytest.mark.parametrize("content", [b"", b"PK", b"pack: {}", b"PK\x05\x06", b"PK\x05\x06" + b"\xff" * 18])
def test_what_is_no_archive_is_refused(content: bytes) -> None:
    with pytest.raises(ArchiveRefused):
        files_in(content)


def test_a_damaged_archive_is_refused_and_nothing_else_is_raised() -> None:
    """Any byte may be wrong. The draw is always the same."""
    draw = random.Random(7)
    whole = archive(("p/pack.yaml", b"pack: {}\n" * 30), ("p/rules/a.yaml", b"rules: []\n" * 30))
    refused = 0
    for _ in range(2000):
        content = bytearray(whole)
        for _ in range(draw.randint(1, 4)):
            content[draw.randrange(len(content))] = draw.randrange(256)
        try:
            texts = files_in(bytes(content[: draw.choice((len(content), draw.randrange(len(content))))]))
        except ArchiveRefused:
            refused += 1
        else:
            assert all(isinstance(text, str) for text in texts.values())
    assert refused > 1000


def test_a_text_that_is_not_utf_8_is_refused() -> None:
    with pytest.raises(ArchiveRefused, match=r"'pack\.yaml' is not UTF-8: .* at byte 6"):
        files_in(archive(("pack.yaml", b"name: \xf6n")))
