"""The wire: framing that two readers understand differently, floods of headers, slow and broken messages."""

from __future__ import annotations

from collections.abc import Iterator

from hostile_inputs import PROCEDURES, RIGHT, Hostile, Statuses, message, posted

POST = f"POST {PROCEDURES} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n".encode()
SMUGGLED = b"GET /smuggled HTTP/1.1\r\nHost: localhost\r\n\r\n"
"""A request that hides in the body of another. It must never be answered."""

CHUNKED = b"%x\r\n%s\r\n0\r\n\r\n" % (len(RIGHT), RIGHT)
BROKEN_OFF: Statuses = (None,)
"""The caller ends in the middle of a request, so there is nothing to answer."""

FLOODED: Statuses = (431, None)
"""The server answers and reads no more; what it sent may be lost with the connection."""

UNKNOWN_CODING: Statuses = (501,)
"""What RFC 9112, 6.1, asks for where a transfer coding is not understood; nothing has failed."""

FRAMING: dict[str, tuple[bytes, Statuses]] = {
    "both lengths, chunked ends first": (
        b"Content-Length: %d\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n%s"
        % (len(SMUGGLED) + 5, SMUGGLED),
        (400,),
    ),
    "both lengths, the number ends first": (
        b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n%x\r\n%s\r\n0\r\n\r\n"
        % (len(SMUGGLED), SMUGGLED),
        (400,),
    ),
    "both lengths, the other way round": (
        b"Transfer-Encoding: chunked\r\nContent-Length: %d\r\n\r\n0\r\n\r\n%s"
        % (len(SMUGGLED) + 5, SMUGGLED),
        (400,),
    ),
    "two lengths": (b"Content-Length: 0\r\nContent-Length: %d\r\n\r\n%s" % (len(SMUGGLED), SMUGGLED), (400,)),
    "two equal lengths": (b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}", (400,)),
    "a list of lengths": (b"Content-Length: 2, 2\r\n\r\n{}", (400,)),
    "chunked twice": (b"Transfer-Encoding: chunked, chunked\r\n\r\n" + CHUNKED, (400,)),
    "chunked in two headers": (
        b"Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n\r\n" + CHUNKED,
        (400,),
    ),
    "chunked and then something": (b"Transfer-Encoding: chunked, gzip\r\n\r\n" + CHUNKED, (400,)),
    "chunked after a form feed": (b"Transfer-Encoding: \x0cchunked\r\n\r\n" + CHUNKED, (400,)),
    "chunked after a NEL": (b"Transfer-Encoding: \x85chunked\r\n\r\n" + CHUNKED, UNKNOWN_CODING),
    "chunked in quotes": (b'Transfer-Encoding: "chunked"\r\n\r\n' + CHUNKED, UNKNOWN_CODING),
    "a coding nobody knows": (
        b"Transfer-Encoding: cow\r\nContent-Length: 5\r\n\r\n0\r\n\r\n",
        UNKNOWN_CODING,
    ),
    "gzip as a transfer coding": (b"Transfer-Encoding: gzip, chunked\r\n\r\n" + CHUNKED, (400,)),
    "a blank before the colon": (b"Transfer-Encoding : chunked\r\n\r\n" + CHUNKED, (400,)),
    "a blank before the length's colon": (b"Content-Length : 2\r\n\r\n{}", (400,)),
    "a folded header": (b"Transfer-Encoding:\r\n chunked\r\nContent-Length: 0\r\n\r\n" + CHUNKED, (400,)),
    "an underscore in the name": (b"Content_Length: 5\r\n\r\n", (400,)),
    **{
        f"chunk size {size.decode('latin-1')!r}": (
            b"Transfer-Encoding: chunked\r\n\r\n%s\r\n%s\r\n0\r\n\r\n" % (size, RIGHT),
            (400,),
        )
        for size in (
            b"",
            b"-1",
            b"+5",
            b"0x10",
            b"xyz",
            b" 10",
            b"1 0",
            b"1_0",
            b"\xd9\xa1",
            b"1\x00",
            b"\x0b5",
            b"1\n",
        )
    },
    "an endless chunk size": (
        b"Transfer-Encoding: chunked\r\n\r\n%s\r\n{}" % (b"1" * 100_000),
        BROKEN_OFF,
    ),
    "a chunk of exabytes": (b"Transfer-Encoding: chunked\r\n\r\nFFFFFFFFFFFFFFFF\r\n{}", BROKEN_OFF),
    "a chunk longer than it says": (b"Transfer-Encoding: chunked\r\n\r\n1\r\n{}\r\n0\r\n\r\n", (400,)),
    "chunks that are too much": (
        b"Transfer-Encoding: chunked\r\n\r\n" + (b"4000\r\n" + b" " * 0x4000 + b"\r\n") * 17 + b"0\r\n\r\n",
        (413,),
    ),
    "chunks without an end": (b"Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n", BROKEN_OFF),
    **{
        f"length {length[:20].decode('latin-1')!r}": (b"Content-Length: %s\r\n\r\n{}" % length, (400,))
        for length in (
            b"-1",
            b"+2",
            b"0x2",
            b"2.0",
            b"1e1",
            b"two",
            b"\xd9\xa2",
            b"2 2",
            b"2;",
            b"",
            b"9" * 5000,
        )
    },
    "one more than comes": (b"Content-Length: 3\r\n\r\n{}", BROKEN_OFF),
    "more than may be sent": (b"Content-Length: 999999999999\r\n\r\n{}", (413,)),
    "a quadrillion": (b"Content-Length: 1" + b"0" * 30 + b"\r\n\r\n{}", (413,)),
    "chunked, as it should be": (
        b"Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n" + CHUNKED,
        (201,),
    ),
    "chunked in capitals": (b"Connection: close\r\nTransfer-Encoding: CHUNKED\r\n\r\n" + CHUNKED, (201,)),
    "chunked with an extension": (
        b"Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n" + CHUNKED.replace(b"\r\n", b";a=b\r\n", 1),
        (201,),
    ),
    "chunked with a trailer": (
        b"Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n" + CHUNKED[:-2] + b"X-Late: 1\r\n\r\n",
        (201,),
    ),
    "expecting 100": (
        b"Connection: close\r\nExpect: 100-continue\r\nContent-Length: %d\r\n\r\n%s" % (len(RIGHT), RIGHT),
        (201,),
    ),
    "expecting what nobody knows": (
        b"Connection: close\r\nExpect: 200-ok\r\nContent-Length: %d\r\n\r\n%s" % (len(RIGHT), RIGHT),
        (201,),
    ),
}
"""What follows the first headers of a POST."""

NO_HTTP: dict[str, tuple[bytes, Statuses]] = {
    "HTTP/0.9": (b"GET /livez\r\n\r\n", (421,)),
    "HTTP/1.2": (b"GET /livez HTTP/1.2\r\nHost: localhost\r\n\r\n", (200,)),
    "HTTP/2 without an upgrade": (b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", (421,)),
    "HTTP/9999": (b"GET /livez HTTP/9999.1\r\nHost: localhost\r\n\r\n", (400,)),
    "another protocol": (b"SSH-2.0-OpenSSH_9.6\r\n\r\n", (400,)),
    "TLS": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(range(256)) + b"\r\n\r\n", (400,)),
    "random bytes": (bytes(range(255, -1, -1)) * 10 + b"\r\n\r\n", (400,)),
    "only line ends": (b"\r\n" * 1000, BROKEN_OFF),
    "nothing": (b"", BROKEN_OFF),
    "one letter": (b"G", BROKEN_OFF),
    "a line without an end": (b"GET /" + b"x" * 400_000, FLOODED),
    "line feeds alone": (b"GET /livez HTTP/1.1\nHost: x\n\n", BROKEN_OFF),
    "a carriage return inside": (b"GET /livez\rX HTTP/1.1\r\nHost: localhost\r\n\r\n", (400,)),
    "a NUL in the start line": (b"GET /li\0vez HTTP/1.1\r\nHost: localhost\r\n\r\n", (404,)),
    "blanks around the address": (b"GET  /livez  HTTP/1.1\r\nHost: localhost\r\n\r\n", (400,)),
    "no address": (b"GET HTTP/1.1\r\nHost: localhost\r\n\r\n", (400,)),
    "an address of another host": (
        b"GET http://other.example/livez HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        (200,),
    ),
    "an address without a scheme": (b"GET livez HTTP/1.1\r\nHost: localhost\r\n\r\n", (400,)),
    "no host": (b"GET /livez HTTP/1.1\r\n\r\n", (400,)),
    "two hosts": (b"GET /livez HTTP/1.1\r\nHost: localhost\r\nHost: y\r\n\r\n", (400,)),
    "a host with a path": (b"GET /livez HTTP/1.1\r\nHost: x/y\r\n\r\n", (400,)),
    "a host with a name": (b"GET /livez HTTP/1.1\r\nHost: a@x\r\n\r\n", (400,)),
    "a host beyond ASCII": (b"GET /docs HTTP/1.1\r\nHost: \xff\r\nConnection: close\r\n\r\n", (421,)),
    "an address in brackets": (b"GET http://[::1 HTTP/1.1\r\nHost: localhost\r\n\r\n", (400,)),
    "an asterisk": (
        b"OPTIONS * HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        (404,),
    ),
    "raw bytes in the address": (
        b"GET /\xff\xfe HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        (400,),
    ),
    "a fragment": (b"GET /livez#x HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", (200,)),
}
"""Whole messages."""

HEADERS: dict[str, tuple[tuple[tuple[str, str], ...], Statuses]] = {
    "one of 300,000 characters": ((("X-Long", "x" * 300_000),), FLOODED),
    "20,000": (tuple((f"X-{number}", "x") for number in range(20_000)), FLOODED),
    "500": (tuple((f"X-{number}", "x") for number in range(500)), (200,)),
    "one 1,000 times": ((("X-Same", "x"),) * 1000, (200,)),
    "a name with a blank": ((("X Y", "z"),), (400,)),
    "a name with a NUL": ((("X\0Y", "z"),), (400,)),
    "a value with a NUL": ((("X", "a\0b"),), (400,)),
    "a bare carriage return": ((("X", "a\rb: c"),), (400,)),
    "a name that is empty": ((("", "x"),), (400,)),
    "a cookie of 60,000 characters": ((("Cookie", "a=" + "x" * 60_000),), (200,)),
    "letters beyond ASCII": ((("X-Name", "Stoßfänger"),), (200,)),
    "a proxy's words": (
        (("X-Forwarded-Host", "other.example"), ("Forwarded", "host=other.example;proto=gopher")),
        (200,),
    ),
    "another path": ((("X-Original-URL", "/v1/packs"), ("X-Rewrite-URL", "/v1/packs")), (200,)),
    "an upgrade": ((("Upgrade", "h2c"), ("HTTP2-Settings", "x")), (200,)),
    "a range": ((("Range", "bytes=0-0,5-,-99999999999999999999"),), (200,)),
    "a range without sense": ((("Range", "bytes=z-a"),), (200,)),
    "5,000 tags": ((("If-None-Match", ", ".join(f'"{number}"' for number in range(5_000))),), (200,)),
    "a tag without an end": ((("If-None-Match", '"' + "x" * 50_000),), (200,)),
    "a date without sense": ((("If-Modified-Since", "Mon, 99 Foo 9999999999 25:61:61 GMT"),), (200,)),
    "a date before all": ((("If-Unmodified-Since", "Thu, 01 Jan 0000 00:00:00 GMT"),), (200,)),
    "authorization without sense": ((("Authorization", "Basic \xff"),), (200,)),
    "authorization of all kinds": ((("Authorization", "Digest " + "a=b, " * 2000),), (200,)),
    "languages": ((("Accept-Language", "x" * 20_000 + ";q=z"),), (200,)),
    "charsets": ((("Accept-Charset", "utf-16;q=1, *;q=0"),), (200,)),
    "codings": ((("Accept-Encoding", "identity;q=0, *;q=0"),), (200,)),
}
"""Headers of GET /livez."""


REPEAT_KEYS = (
    "",
    '"',
    '""',
    '"a',
    "a b",
    "a,b",
    "a;q=1",
    '"a\\b"',
    "x" * 256,
    '"' + "x" * 256 + '"',
    "\xe9",
    "a\tb",
    "(a)\\",
)
"""What is no `Idempotency-Key`."""


def wire() -> Iterator[Hostile]:
    """Every hostile message that does not come in one piece, or in no good one."""
    for name, (rest, statuses) in FRAMING.items():
        yield Hostile(f"framing: {name}", (POST + rest,), statuses, "POST")
    for name, (sent, statuses) in NO_HTTP.items():
        yield Hostile(f"no HTTP: {name}", (sent,), statuses)
    for name, (headers, statuses) in HEADERS.items():
        yield Hostile(f"headers: {name}", (message("GET", "/livez", headers),), statuses)
    for key in REPEAT_KEYS:
        sent = posted(RIGHT, Idempotency_Key=key)
        yield Hostile(f"repeat key {key[:20]!r} ({len(key)})", (sent,), (400,), "POST")
    right = posted(RIGHT)
    yield Hostile("byte by byte", tuple(right[at : at + 1] for at in range(len(right))), (201,), "POST")
    yield Hostile("cut in a header", (right[:30],), BROKEN_OFF, "POST")
    yield Hostile("cut in the body", (right[:-10],), BROKEN_OFF, "POST")
    yield Hostile("more than it says", (right + SMUGGLED,), (201,), "POST")
    old = POST.replace(b"HTTP/1.1", b"HTTP/1.0")
    yield Hostile(
        "chunked in HTTP/1.0", (old + b"Transfer-Encoding: chunked\r\n\r\n" + CHUNKED,), (400,), "POST"
    )
    kept = old + b"Connection: keep-alive\r\nTransfer-Encoding: chunked\r\n\r\n" + SMUGGLED
    yield Hostile("a kept HTTP/1.0 with chunks", (kept,), (400,), "POST")
