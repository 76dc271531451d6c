"""Addresses: ids, paths, queries, methods, media types and what is accepted."""

from __future__ import annotations

from collections.abc import Iterator

from hostile_inputs import PROCEDURES, RIGHT, Hostile, Statuses, message, posted

IDS = (
    *("%00", "pr-%00", "%0A", "pr-" + "0" * 32 + "%0A", "%0D%0ASet-Cookie:%20a=b", "%20", "%09"),
    *(
        "..%2F..%2Fetc%2Fpasswd",
        "..%5C..%5Cboot.ini",
        "%2E%2E%2F",
        "%252e%252e%252f",
        "%C0%AF",
        "%FF",
        "%ED%A0%80",
    ),
    *("pr-" + "0" * 31, "pr-" + "0" * 33, "pr-" + "A" * 32, "PR-" + "0" * 32, "pr-" + "%D9%A0" * 32),
    *(
        "pr-" + "%EF%BC%90" * 32,
        "%F0%9F%92%A5",
        "'%20OR%20'1'='1",
        "%3Cscript%3E",
        "{{7*7}}",
        "$%7Bjndi:x%7D",
    ),
    *("-1", "0", "1e400", "null", "*", "%25s%25n", "x" * 8000, "pr-" + "0" * 50_000, "%zz", "%", "%u0041"),
)
"""What is written where an id belongs; nothing has such an id."""

ID_PLACES = (
    *("/v1/procedures/{}", "/v1/procedures/{}/timeline", "/v1/procedures/{}/explanation", "/v1/packs/{}"),
    *("/v1/procedures/{}/actuals", "/v1/packs/{}/files", "/v1/packs/{}/proof", "/v1/packs/{}/impact"),
    *("/v1/estimates/{}", "/problems/{}", "/docs/{}", "/l/timeline/{}", "/l/procedure/{}"),
    *("/v1/webhooks/{}", "/v1/webhooks/{}/deliveries", f"/v1/webhooks/wh_{'0' * 32}/deliveries/{{}}"),
)

NOWHERE = (
    *(
        "/v1",
        "/v1/",
        "/v2/procedures",
        "/V1/procedures",
        "/v1/Procedures",
        "/v1/procedures/",
        "/livez/",
        "/livez%00",
    ),
    *(
        "/v1/../livez",
        "/v1/./procedures",
        "/./livez",
        "/../livez",
        "/%2e%2e/livez",
        "/v1%2Fprocedures",
        "/livez%2f",
    ),
    *(
        "/v1;a=b/procedures",
        "/livez;x",
        "/v1/procedures.json",
        "/v1//procedures",
        "/v1///stages",
    ),
    *(
        "/\\other.example",
        "/%5Cother.example",
        "/%2Fother.example",
        "/livez%0D%0AX:%20y",
    ),
    *(
        "/static/app.js",
        "/.git/config",
        "/.env",
        "/wp-login.php",
        "/etc/passwd",
        "/docs/../livez",
        "/docs/%2e%2e/app.py",
    ),
    *(
        "/docs/..%2f..%2fapi.py",
        "/%E2%82%AC",
        "/%ff%fe",
        "/" + "a/" * 5000,
        "/" + "%41" * 20_000,
        "/*",
        "/ ",
        "/%20livez",
    ),
)
"""Paths without anything."""

AMBIGUOUS = ("//v1/procedures", "///livez", "//other.example/livez", "//")
"""Paths that may be read as the name of a host."""

QUERIES = (
    *(
        "",
        "line_item",
        "line_item=",
        "line_item=%20",
        "line_item=%00",
        "line_item=a%00b",
        "line_item=%0A",
        "line_item=x%7F",
    ),
    *(
        "LINE_ITEM=x",
        "line_item[]=x",
        "line_item[0]=x",
        "line_item.x=y",
        "line_item=x&line_item=x",
        "line-item=x",
    ),
    *(
        "=x",
        "&&&line_item=x&=",
        "line_item=" + "x" * 101,
        "line_item=" + "x" * 50_000,
        "?line_item=x",
    ),
    *(
        f"line_item=x&limit={limit}"
        for limit in ("0", "-1", "101", "1_0", "+5", "%205", "5%20", "0x5", "1e1", "5.0")
    ),
    *(
        f"line_item=x&limit={limit}"
        for limit in ("%D9%A5", "%EF%BC%95", "%E2%82%85", "9" * 5000, "NaN", "", "null", "%00")
    ),
    *(f"line_item=x&limit={limit}" for limit in ("true", "05%0A", "5,5", "[5]", "1%2B1", "%E0%A5%AB")),
    *(
        f"line_item=x&cursor={cursor}"
        for cursor in ("", "abc", "%00", "e30", "e30%3D", "x" * 501, "%F0%9F%92%A5", "..", "bnVsbA")
    ),
    *(
        f"line_item=x&cursor={cursor}"
        for cursor in ("WzEsMl0", "IiI", "eyJhIjoxfQ", "LTE", "MQ", "OTk5OTk5OTk5OTk5OTk5OTk5OTk5OTk5")
    ),
    *(
        "line_item=x&page=2",
        "line_item=x&__proto__=1",
        "line_item=x&_method=DELETE",
        "line_item=x&callback=f",
    ),
    *("&".join(f"p{number}=1" for number in range(5000)), "line_item=x&" + "limit=5&" * 2000),
)
"""Queries of GET /v1/procedures that are refused."""

READ_QUERIES = (
    "line_item=x&",
    "line_item=x%26limit=0",
    "line_item=%C3%A9",
    "line_item=x;limit=0",
    "line_item=x&limit=005",
    "line_item=%2B",
)

DRY_RUNS = ("True", "TRUE", "1", "0", "yes", "on", "", "null", "true%20", "%74rue&dry_run=true", "true,false")

UNKNOWN_METHODS = (
    *(
        "TRACE",
        "TRACK",
        "CONNECT",
        "PATCH",
        "DELETE",
        "PROPFIND",
        "QUERY",
        "MKCOL",
        "LOCK",
        "PURGE",
        "DEBUG",
        "LINK",
    ),
)
OTHER_METHODS = ("G-T", "1", "X" * 100)
NO_METHODS = ("get", "Get", "post", "GET\0", "G\tT", "GÉT", "", "<GET>")
"""What is no method to the server. HTTP would let small letters be one, of another meaning."""

MEDIA_TYPES = (
    *(
        None,
        "",
        "text/plain",
        "text/json",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
    ),
    *(
        "application/xml",
        "application/json-patch+json",
        "application/merge-patch+json",
        "application/problem+json",
    ),
    *(
        "application/vnd.api+json",
        "application/jsonx",
        "json",
        "*/*",
        "application/*",
        "application /json",
        "a" * 10_000,
    ),
    *(
        "application/json/extra",
        "application//json",
        "text/plain, application/json",
        "application/json, text/plain",
    ),
    *(
        "application/json; charset=utf-16",
        "application/json; charset=latin-1",
        "application/json; charset=unknown",
    ),
    *(
        "application/json; charset=utf-7",
        'application/json; charset="utf-32"',
        "application/octet-stream",
        "\xe9",
    ),
)
READ_MEDIA_TYPES = (
    *(
        "APPLICATION/JSON",
        "application/json;charset=UTF-8",
        'application/json; charset="utf-8"',
        "application/json;",
    ),
    *("application/json ; x=y", "application/json; charset=us-ascii"),
)

ACCEPTED = {
    "": 200,
    "*/*": 200,
    "application/json": 200,
    "application/*": 200,
    "application/json;q=0.001": 200,
    "text/html, */*;q=0.1": 200,
    "image/svg+xml;q=0.2, application/json;q=0.9": 200,
    "APPLICATION/JSON": 200,
    "text/html": 406,
    "application/xml, text/plain": 406,
    "application/json;q=0": 406,
    "*/*;q=0": 406,
    "application/jsonx": 406,
    "image/*;q=0": 406,
    "text/" + "x" * 10_000: 406,
    ", ".join(f"text/x{number}" for number in range(500)): 406,
}
"""`Accept` of a timeline, which may also be drawn."""

BROKEN_ACCEPTED = {
    **dict.fromkeys((",,,", '"', "application/json;q=abc", "application/json;q=99"), 200),
    **dict.fromkeys((";;;", "q=1", "json", "/", "*", "\xff\xfe", "*/json"), 406),
}
"""What is no list of media ranges: some say nothing, and others nothing that can be sent."""


def addresses(known: str) -> Iterator[Hostile]:
    """Every hostile address; `known` is the id of a procedure that is kept."""
    for place in ID_PLACES:
        for written in IDS:
            yield _get(place.format(written), (404,), f"{place} {written[:40]}")
    for path in NOWHERE:
        yield _get(path, (404,), f"path {path[:60]}")
    for path in AMBIGUOUS:
        yield _get(path, (400,), f"path {path}")
    yield _get("/" + "x" * 300_000, (431, None), "a path of 300,000 characters")
    for query in QUERIES:
        yield _get(f"{PROCEDURES}?{query}", (422,), f"query {query[:40]} ({len(query)})")
    for query in READ_QUERIES:
        yield _get(f"{PROCEDURES}?{query}", (200,), f"query {query[:40]} ({len(query)})")
    for wanted in DRY_RUNS:
        body = message("POST", f"{PROCEDURES}?dry_run={wanted}", {"Content-Type": "application/json"}, RIGHT)
        yield Hostile(f"dry_run={wanted}", (body,), (422,), "POST")
    yield from _methods(known)
    yield from _media()
    for accepted, status in (ACCEPTED | BROKEN_ACCEPTED).items():
        yield _accepting(known, accepted, status)


def _methods(known: str) -> Iterator[Hostile]:
    for method in (*UNKNOWN_METHODS, *OTHER_METHODS):
        yield Hostile(f"method {method[:20]}", (message(method, PROCEDURES),), (405,), method)
    for method in NO_METHODS:
        sent = message("GET", PROCEDURES).replace(b"GET", method.encode("latin-1"), 1)
        yield Hostile(f"method {method!r}", (sent,), (400,))
    for header in ("X-HTTP-Method-Override", "X-HTTP-Method", "X-Method-Override"):
        named = message("GET", f"{PROCEDURES}/{known}", {header: "DELETE"})
        yield Hostile(header, (named,), (200,))
    yield Hostile("a body with GET", (message("GET", f"{PROCEDURES}/{known}", body=RIGHT),), (200,))
    yield Hostile("a body with OPTIONS", (message("OPTIONS", PROCEDURES, body=RIGHT),), (200,), "OPTIONS")
    yield Hostile("HEAD", (message("HEAD", f"{PROCEDURES}/{known}"),), (200,), "HEAD")
    yield Hostile("HEAD of nothing", (message("HEAD", f"{PROCEDURES}/x"),), (404,), "HEAD")


def _media() -> Iterator[Hostile]:
    for sent in MEDIA_TYPES:
        yield Hostile(f"sent as {str(sent)[:60]}", (posted(RIGHT, sent),), (415,), "POST")
    for sent in READ_MEDIA_TYPES:
        yield Hostile(f"sent as {sent}", (posted(RIGHT, sent),), (201,), "POST")
    twice = [("Content-Type", "application/json"), ("Content-Type", "text/plain")]
    yield Hostile("sent as two things", (message("POST", PROCEDURES, twice, RIGHT),), (415,), "POST")


def _get(target: str, statuses: Statuses, name: str) -> Hostile:
    return Hostile(name, (message("GET", target.replace(" ", "%20").encode()),), statuses)


def _accepting(known: str, accepted: str, status: int) -> Hostile:
    sent = message("GET", f"{PROCEDURES}/{known}/timeline", {"Accept": accepted})
    return Hostile(f"accepting {accepted[:60]!r}", (sent,), (status,))
