"""Materials: told from a moulded marking, from simple bench tests and from what part it is."""

from __future__ import annotations

from flask import Response

from api.answers import answer
from api.identifying import identified
from api.keys.scopes import LINE_ITEMS
from api.nouns import Noun
from api.problem_types import (
    BODY_REFUSED,
    BODY_TOO_LARGE,
    ENGINE_WORN_OUT,
    EVIDENCE_REFUSED,
    FACTS_REFUSED,
    IDENTIFICATION_UNAVAILABLE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PACK_FAULT,
    STORE_UNAVAILABLE,
)
from api.snapshot import current
from schemas.identification_answer import IdentificationAnswer
from schemas.identification_examples import IDENTIFICATIONS
from schemas.identification_request import IdentificationRequest
from schemas.line_item.body import Body

identifications = Noun(
    "identifications", __name__, url_prefix="/v1/identifications", scope=LINE_ITEMS, description=__doc__
)


@identifications.at("", "POST")
@identifications.takes(IdentificationRequest, IDENTIFICATIONS)
@identifications.gives(200, IdentificationAnswer, "Ranked materials, what is open, and the next test.")
@identifications.refuses(
    MALFORMED_JSON,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    BODY_REFUSED,
    EVIDENCE_REFUSED,
    FACTS_REFUSED,
    PACK_FAULT,
    IDENTIFICATION_UNAVAILABLE,
    ENGINE_WORN_OUT,
    STORE_UNAVAILABLE,
)
def identify_material(body: Body) -> Response:
    """Tell what plastic a part is made of.

    Give what is known so far: the marking, the results of bench tests, what part it is. Where the line
    item is stated too (`part`, `damage`, `finish`, `place`), only what matters to its procedure is asked;
    otherwise everything that rules can tell of a material. Nothing is kept: send all results again, with
    that of the next test, until `next_test` is null.
    """
    return answer(identified(body, current()))
