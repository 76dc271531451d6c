"""The service as `stagewright serve` runs it without `--open`, over a socket."""

from __future__ import annotations

import re
from pathlib import Path

from served import Answered, exchange, served

from storage.key_records import WrittenKey
from storage.store import open_store

PRINTED = re.compile(r"there was no key yet; this one is for everything, and never shown again:\n(\S+)\n")


def get(port: int, *headers: bytes, path: bytes = b"/v1/packs/active") -> Answered:
    lines = [b"GET " + path + b" HTTP/1.1", b"Host: stagewright.example", b"Connection: close", *headers]
    answered = exchange(port, b"\r\n".join(lines) + b"\r\n\r\n")
    assert answered is not None
    return answered


def bearer(text: str) -> bytes:
    return f"Authorization: Bearer {text}".encode()


def test_the_first_key_is_printed_once_and_opens_the_service(tmp_path: Path) -> None:
    log = tmp_path / "serve.log"
    with served(tmp_path, keyed=True) as port:
        printed = PRINTED.findall(log.read_text())
        assert len(printed) == 1
        assert WrittenKey.read(printed[0]) is not None
        assert "to whoever sends a key" in log.read_text()
        assert get(port, bearer(printed[0])).status == 200
        assert get(port, path=b"/readyz").status == 200
        assert get(port).status == 401
    with served(tmp_path, keyed=True) as port:
        assert PRINTED.findall(log.read_text()) == []
        assert get(port, bearer(printed[0])).status == 200


def test_a_running_service_takes_keys_and_refuses_them_as_the_command_line_says(tmp_path: Path) -> None:
    with served(tmp_path, keyed=True) as port:
        store = open_store(f"sqlite:///{tmp_path / 'store.sqlite3'}")
        written = store.keys.create("local", "invented", ["rules"], "command line")
        assert get(port, bearer(written.text)).status == 200
        store.keys.revoke(written.prefix, "command line")
        assert get(port, bearer(written.text)).status == 401
        store.close()


def test_no_bytes_in_the_header_get_through_or_break_it(tmp_path: Path) -> None:
    with served(tmp_path, keyed=True) as port:
        good = PRINTED.findall((tmp_path / "serve.log").read_text())[0].encode()
        one = b"Authorization: Bearer " + good
        assert get(port, one).status == 200
        for headers in (
            (one, one),
            (one, b"Authorization: Bearer x"),
            (b"Authorization: Bearer x", one),
            (b"authorization: Basic eDp5", one),
            (b"Authorization: Bearer \xff\xfe" + good,),
            (b"Authorization: B\xc3\xa9arer " + good,),
            (b"Authorization: Bearer " + b"a" * 20_000,),
            (b"Authorization: Bearer " + good + b"\x00",),
            (b"Authorization: Bearer",),
            (b"Authorization:",),
            (b"Proxy-Authorization: Bearer " + good,),
        ):
            assert get(port, *headers).status in (400, 401), headers
        assert get(port, b"Authorization: Bearer " + b"a" * 300_000).status in (400, 431)
        assert get(port, one).status == 200
