"""Bodies: bytes that are no text, texts that are no JSON, JSON that means two things, and sizes."""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterator

from hostile_inputs import JSON_TYPE, RIGHT, Hostile, Statuses, posted

from schemas.examples import MINIMAL

BOUND = 262_144
"""The most bytes that a body may have."""

WHOLE_TEXT = json.dumps(MINIMAL)

ENCODED = {
    "UTF-8 with a byte order mark": b"\xef\xbb\xbf" + RIGHT,
    **{
        f"in {codec}": WHOLE_TEXT.encode(codec)
        for codec in ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be", "cp037")
    },
    "only a byte order mark": b"\xef\xbb\xbf",
    "only blanks": b" \t\r\n",
    "nothing": b"",
    "a zip archive": b"PK\x05\x06" + bytes(18),
    "compressed without saying so": gzip.compress(RIGHT),
}
"""Whole bodies that are not UTF-8 text, or not JSON."""

NO_UTF_8 = {
    "overlong slash, 2 bytes": b"\xc0\xaf",
    "overlong slash, 3 bytes": b"\xe0\x80\xaf",
    "overlong slash, 4 bytes": b"\xf0\x80\x80\xaf",
    "overlong NUL": b"\xc0\x80",
    "surrogate half": b"\xed\xa0\x80",
    "surrogate pair, each half on its own": b"\xed\xa0\xbd\xed\xb8\x80",
    "beyond the last character": b"\xf4\x90\x80\x80",
    "5 bytes": b"\xf8\x88\x80\x80\x80",
    "a continuation alone": b"\x80",
    "a start alone": b"\xc3",
    "cut short": b"\xe2\x82",
    "0xFE": b"\xfe",
    "0xFF": b"\xff",
    "Latin-1": "Stoßfänger".encode("latin-1"),
    "Windows-1252": "10 € extra".encode("cp1252"),
    "Shift JIS": "バンパー".encode("shift_jis"),
    "GB 18030": "保险杠".encode("gb18030"),
}
"""Bytes inside a text."""

NO_JSON = {
    "single quotes": "{'line_item': 1}",
    "a name without quotes": "{line_item: 1}",
    "a comma at the end of an object": '{"line_item": 1,}',
    "a comma at the end of a list": '{"line_item": [1,]}',
    "a comment": '{"line_item": 1} // the end',
    "a comment inside": '{/* first */ "line_item": 1}',
    "a second value": "{} {}",
    "a bracket too many": "{}}",
    "a bracket too few": '{"line_item": {}',
    "letters after it": WHOLE_TEXT + "x",
    "a NUL after it": WHOLE_TEXT + "\0",
    "a NUL before it": "\0" + WHOLE_TEXT,
    "a form feed between": '{"line_item":\f1}',
    "a no-break space between": '{"line_item":\N{NO-BREAK SPACE}1}',
    "a line separator between": '{"line_item":\N{LINE SEPARATOR}1}',
    "a text without an end": '{"line_item": "x',
    "an escape without an end": '{"line_item": "\\',
    "Python's words": '{"line_item": None, "part": True}',
    "undefined": '{"line_item": undefined}',
    "no colon": '{"line_item" 1}',
    "two colons": '{"line_item":: 1}',
    "only a comma": ",",
    "YAML": "line_item:\n  reference: x\n",
    "XML": "<line_item/>",
    "a form": "line_item=x&part=y",
    "two lines of JSON": "{}\n{}",
    "a record separator": "\x1e{}",
    "prefixed": ")]}'\n{}",
}

NO_ESCAPE = (r"\x41", r"\u12", r"\u{41}", r"\U00000041", r"\a", r"\0", r"\'", r"\u00zz", r"\u-041", r"\u 041")
"""Escapes that JSON does not have."""

LONE = (r"\ud800", r"\udfff", r"\ud800\ud800", r"\udc00\ud800", r"\ud83d", r"x\ude00", r"\ud83d\u0041")
"""Halves of surrogate pairs."""

TWICE = {
    "at the top": '{"part": 1, "part": 1}',
    "three times": '{"part": 1, "part": 2, "part": 3}',
    "escaped": r'{"part": 1, "\u0070art": 2}',
    "escaped in full": r'{"part": 1, "\u0070\u0061\u0072\u0074": 2}',
    "escaped in capitals": r'{"\u006C": 1, "\u006c": 2}',
    "inside": '{"part": {"name": "x", "name": "x"}}',
    "in a list": '{"part": [{"a": 1, "a": 1}]}',
    "the empty name": '{"": 1, "": 2}',
    "beside a right one": WHOLE_TEXT[:-1] + ', "damage": {"type": "none"}}',
}
"""Members given twice."""

UNREADABLE_NUMBERS = (
    *("NaN", "Infinity", "-Infinity", "nan", "inf", "+80", "080", "80.", ".8", "0x50", "8e", "8e+", "--80"),
    *("8_0", "80f", "80n", "1e400", "-1e400", "1E999999999", "9" * 5000, "0." + "0" * 5000 + "1"),
    *("1" + "0" * 400, "-" + "9" * 25, "1e" + "9" * 5000, "٨٠", "80,5", "1e1e1", "$80", "80 mm"),
)
REFUSED_NUMBERS = (
    *("-80", "-1e-9", "1e300", "1e308", "9007199254740993", "18446744073709551616"),
    *('"80"', "true", "[80]", '{"mm": 80}', "null", '"NaN"', '"1e2"'),
)
READ_NUMBERS = ("80.0", "8e1", "0.8E+2", "8000e-2", "80.000000000000001", "0", "-0", "1e-400", "5e-324")


def bodies() -> Iterator[Hostile]:
    """Every hostile body, sent as a line item."""
    yield from _each("bytes", ENCODED, (400,))
    yield from _each("no UTF-8", {name: _named(found) for name, found in NO_UTF_8.items()}, (400,))
    yield from _each("no JSON", _encoded(NO_JSON), (400,))
    yield from _each("member twice", _encoded(TWICE), (400,))
    for escape in (*NO_ESCAPE, *LONE):
        yield _sent(f"escape {escape}", _named(escape.encode()), (400,))
    for code in range(0x20):
        yield _sent(f"raw control character {code:#04x}", _named(bytes([code])), (400,))
        refused = 400 if code == 0 else 422
        yield _sent(f"escaped control character {code:#04x}", _named(rb"\u%04x" % code), (refused,))
    yield _sent("NUL in a name", rb'{"a\u0000b": 1}', (400,))
    for number in UNREADABLE_NUMBERS:
        yield _sent(f"number {number[:20]}", _measured(number), (400,))
    for number in REFUSED_NUMBERS:
        yield _sent(f"number {number}", _measured(number), (422,))
    for number in READ_NUMBERS:
        yield _sent(f"number {number}", _measured(number), (201,))
    yield from _each("size", dict(_sizes()), (422,))
    yield _sent("a template", _named(b"x", b'"${7*7} {{7*7}} %s %n <b>"'), (201,))
    yield from _each("nesting", dict(_nested()), (400,))
    for extra, status in ((0, 201), (1, 413), (100_000, 413)):
        body = RIGHT + b" " * (BOUND - len(RIGHT) + extra)
        yield _sent(f"{extra} bytes beyond the bound", body, (status,))
    yield from _packed()


def _sizes() -> Iterator[tuple[str, bytes]]:
    long = b"x" * 200_000
    yield "a long text", _named(long)
    yield "a text one too long", _named(b"x" * 101)
    yield "a long name of a member", b'{"' + long + b'": 1}'
    yield "a long word", json.dumps({**MINIMAL, "damage": {"type": "crack" * 30_000}}).encode()
    yield "many members", json.dumps({f"m{number}": 1 for number in range(15_000)}).encode()
    yield (
        "many errors of one kind",
        json.dumps({**MINIMAL, "place": dict.fromkeys(map(str, range(9000)), 1)}).encode(),
    )
    yield "many features", _features(["x"] * 40_000)
    yield "one feature many times", _features(["radar_zone"] * 51)
    yield "a list of lists", _features([[]] * 50)
    yield "a list in place of the whole", b"[" + b"1," * 100_000 + b"1]"
    yield "an empty object", b"{}"
    yield "names of the language", b'{"__proto__": {"admin": true}, "constructor": 1, "__class__": 2}'
    yield "a pointer as a name", b'{"/part/name": 1, "~0~1": 2, "a/b": 3}'
    yield "blank", _named(b" ")


def _nested() -> Iterator[tuple[str, bytes]]:
    for depth in (18, 100, 995, 1000, 5000, 20_000, 100_000):
        yield f"{depth} lists", b"[" * depth + b"]" * depth
        yield f"{depth} lists without an end", b"[" * depth
    for depth in (18, 1000, 20_000):
        yield f"{depth} objects", b'{"a":' * depth + b"1" + b"}" * depth
        yield f"{depth} by turns", b'[{"a":' * depth + b"1" + b"}]" * depth
    yield "deep in a right one", json.dumps({**MINIMAL, "x": json.loads("[" * 30 + "]" * 30)}).encode()


def _packed() -> Iterator[Hostile]:
    """Bodies under a content encoding; none is undone, so none may pass for what it is not."""
    for name, body in (("gzip", gzip.compress(RIGHT)), ("deflate", zlib.compress(RIGHT)), ("br", RIGHT)):
        yield Hostile(f"encoded with {name}", (posted(body, Content_Encoding=name),), (415,), "POST")
    for name in ("gzip, gzip", "identity, gzip", "x-gzip", "aes128gcm", "unknown", "utf-8"):
        yield Hostile(f"said to be {name}", (posted(RIGHT, Content_Encoding=name),), (415,), "POST")
    bomb = gzip.compress(bytes(10_000_000))
    yield Hostile("a gzip bomb", (posted(bomb, Content_Encoding="gzip"),), (415,), "POST")
    yield Hostile("identity", (posted(RIGHT, Content_Encoding="identity"),), (201,), "POST")


def _each(kind: str, table: dict[str, bytes], statuses: Statuses) -> Iterator[Hostile]:
    for name, body in table.items():
        yield _sent(f"{kind}: {name}", body, statuses)


def _sent(name: str, body: bytes, statuses: Statuses) -> Hostile:
    return Hostile(name, (posted(body, JSON_TYPE),), statuses, "POST")


def _encoded(table: dict[str, str]) -> dict[str, bytes]:
    return {name: text.encode() for name, text in table.items()}


def _named(reference: bytes, description: bytes = b"null") -> bytes:
    """A right line item but for its reference, the inside of a JSON text, and its description."""
    return RIGHT.replace(b'"RO-20417-3"', b'"' + reference + b'", "description": ' + description)


def _measured(number: str) -> bytes:
    return WHOLE_TEXT.replace('"length_mm": 80', f'"length_mm": {number}').encode()


def _features(features: list[object]) -> bytes:
    return json.dumps({**MINIMAL, "part": {**MINIMAL["part"], "features": features}}).encode()
