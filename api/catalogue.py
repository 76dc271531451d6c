"""What may be said in a line item, and what a procedure is put together from."""

from __future__ import annotations

from flask import Response

from api.answers import answer
from api.keys.scopes import LINE_ITEMS
from api.nouns import ETAG, Noun
from api.snapshot import current
from schemas.catalogue import cautions_of, jurisdictions_of, stages_of, substrates_of, vocabulary_of
from schemas.catalogue_answer import CautionList, JurisdictionList, StageList, SubstrateList, VocabularyList

catalogue = Noun("catalogue", __name__, url_prefix="/v1", scope=LINE_ITEMS, description=__doc__)


@catalogue.at("/vocabulary")
@catalogue.gives(200, VocabularyList, "Every fact, with its values and their meaning.", headers=ETAG)
def list_vocabulary() -> Response:
    """List the facts that may be stated, and those that are derived."""
    return answer(vocabulary_of(current().pack))


@catalogue.at("/substrates")
@catalogue.gives(200, SubstrateList, "Every material, with its aliases.", headers=ETAG)
def list_substrates() -> Response:
    """List the materials that are known."""
    return answer(substrates_of(current().pack))


@catalogue.at("/stages")
@catalogue.gives(200, StageList, "Every stage.", headers=ETAG)
def list_stages() -> Response:
    """List the stages that a procedure may have."""
    return answer(stages_of(current().pack))


@catalogue.at("/cautions")
@catalogue.gives(200, CautionList, "Every caution.", headers=ETAG)
def list_cautions() -> Response:
    """List the cautions that a procedure may carry."""
    return answer(cautions_of(current().pack))


@catalogue.at("/jurisdictions")
@catalogue.gives(200, JurisdictionList, "Every jurisdiction, with its limits.", headers=ETAG)
def list_jurisdictions() -> Response:
    """List where a shop may be, for the limits on emissions."""
    return answer(jurisdictions_of(current().pack))
