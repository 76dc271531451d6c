"""Reads keys, from the header and from the line items of a batch."""

from __future__ import annotations

import re

from api.problem_types import IDEMPOTENCY_KEY_REFUSED
from api.problems import Problem, refused
from schemas.faults import Fault

HEADER = "Idempotency-Key"
LONGEST = 255
FORM = f"1 to {LONGEST} printable ASCII characters"

KEY = re.compile(rf"[ -~]{{1,{LONGEST}}}")

_CHARACTER = r'(?:[ !#-\[\]-~]|\\["\\])'
_QUOTED = re.compile(rf'"({_CHARACTER}*)"')
# Without quotes nothing that a reader of structured fields would take for its grammar: quote, backslash,
# comma, semicolon, space. So two headers, which arrive joined by a comma, are never taken for one key.
_PLAIN = r"[!#-+\--:<-\[\]-~]"
_BARE = re.compile(rf"{_PLAIN}+")

WRITTEN = rf'^("{_CHARACTER}{{1,{LONGEST}}}"|{_PLAIN}{{1,{LONGEST}}})$'
"""How a key is written in the header, for the OpenAPI document."""


def key_in_header(sent: str) -> str:
    """The key in a header: a String of RFC 9651, or the same without its quotes. Raises Problem."""
    quoted, bare = _QUOTED.fullmatch(sent), _BARE.fullmatch(sent)
    key = re.sub(r"\\(.)", r"\1", quoted[1]) if quoted else bare and bare[0]
    if not key or len(key) > LONGEST:
        told = f'{HEADER} must be {FORM} in quotes, such as "8e03978e-40d5-43dd-bc93-6894a57f9324"'
        raise Problem(IDEMPOTENCY_KEY_REFUSED, told)
    return key


def key_in_item(given: object) -> str:
    """The key in a line item of a batch. Raises Problem."""
    if not isinstance(given, str) or not KEY.fullmatch(given):
        fault = Fault("/idempotency_key", f"must be text of {FORM}", given)
        raise refused(IDEMPOTENCY_KEY_REFUSED, [fault])
    return given
