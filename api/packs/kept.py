"""Rule packs: uploaded, proven, and compared with the line items there are."""

from __future__ import annotations

from functools import partial
from typing import Any

from flask import Response, url_for

from api.answers import JSON, answer
from api.keys.scopes import RULES
from api.nouns import ETAG, Noun, header
from api.packs.activating import API, pack_of
from api.packs.at_work import active_pack, kept, service_only
from api.packs.comparing import Comparison
from api.packs.documents import finding_of, listed, named, proof_answer
from api.packs.impact import Impact
from api.packs.proofs import prove_apart
from api.packs.reading import laid
from api.packs.uploads import ZIP, pack_refused, uploaded_files
from api.pages import LINK, page_answer
from api.problem_types import (
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PACK_REFUSED,
    PACK_UNKNOWN,
    PROOF_RUNNING,
    PROOF_UNKNOWN,
    QUERY_REFUSED,
    SERVICE_ONLY,
    STORE_UNAVAILABLE,
)
from api.problems import Problem
from api.shops import current_shop
from api.snapshot import current
from rules.loading import check_files
from schemas.pack import PACKS, ImpactQuery, PacksQuery, PackUpload
from schemas.pack_answer import PackFiles, PackList, PackListed, ProofAnswer
from schemas.pack_impact import ImpactAnswer

MAX_PACK_BYTES = "MAX_PACK_BYTES"
"""The name, in the configuration of the application, of the bound on the body of an upload."""

PROOF_RETRY_S = 10
DIGEST = {
    "in": "path",
    "name": "digest",
    "description": "The `digest` of the pack.",
    "schema": {"type": "string", "minLength": 1},
}
LOCATION = header("Location", "The pack.")
UPLOAD = {
    "required": True,
    "content": {
        JSON: {"schema": PackUpload, "examples": PACKS},
        ZIP: {"schema": {"type": "string", "format": "binary", "description": "The folder of the pack."}},
    },
}

packs = Noun("packs", __name__, url_prefix="/v1/packs", scope=RULES, description=__doc__)


@packs.at("", "POST")
@packs.repeatable
@packs.bounded(MAX_PACK_BYTES)
@packs.reads(UPLOAD)
@packs.gives(201, PackListed, "The pack is kept.", headers=LOCATION)
@packs.refuses(
    MALFORMED_JSON,
    SERVICE_ONLY,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    PACK_REFUSED,
    STORE_UNAVAILABLE,
)
def create_pack() -> Response:
    """Upload the files of a rule pack, or of an overlay.

    It is kept, and nothing else changes. The same files always have the same `digest`, so that a request
    can be repeated without harm. A pack that can be built is kept even where checks find something.
    """
    by, snapshot = service_only(), current()
    files = uploaded_files()
    checked = check_files(laid(files, active_pack().base))
    if checked.pack is None:
        raise pack_refused(files, checked.findings)
    snapshot.store.packs.keep(checked.pack, [finding_of(found) for found in checked.findings], API, by)
    response = answer(listed(kept(checked.pack.digest), snapshot.pack.digest), 201)
    response.location = url_for("packs.read_pack", digest=checked.pack.digest)
    return response


@packs.at("")
@packs.asks(PacksQuery)
@packs.gives(200, PackList, "Kept packs, last kept first.", headers=ETAG | LINK)
@packs.refuses(QUERY_REFUSED, STORE_UNAVAILABLE)
def list_packs(query: dict[str, Any]) -> Response:
    """List the rule packs that are kept."""
    snapshot = current()
    return page_answer(
        "packs.list_packs",
        query,
        snapshot.store.packs.page,
        lambda pack: listed(pack, snapshot.pack.digest),
    )


@packs.at("/<digest>", parameters=[DIGEST])
@packs.gives(200, PackListed, "The pack.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, STORE_UNAVAILABLE)
def read_pack(digest: str) -> Response:
    """Read about a rule pack."""
    return answer(listed(kept(digest), current().pack.digest))


@packs.at("/<digest>/files", parameters=[DIGEST])
@packs.gives(200, PackFiles, "Its files.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, STORE_UNAVAILABLE)
def read_pack_files(digest: str) -> Response:
    """Read the files of a rule pack; those of the uppermost layer can be changed and uploaded again."""
    pack = kept(digest)
    layers = (current().store.pack_files(pack.digest) or {}).items()
    return answer(
        {"pack": named(pack), "layers": [{"name": name, "files": dict(files)} for name, files in layers]}
    )


@packs.at("/<digest>/proof", "POST", parameters=[DIGEST])
@packs.gives(200, ProofAnswer, "What the proof found.")
@packs.refuses(SERVICE_ONLY, PACK_UNKNOWN, PROOF_RUNNING, STORE_UNAVAILABLE)
def prove_pack(digest: str) -> Response:
    """Prove a rule pack over every combination of facts; takes some seconds.

    Checks, cases, the whole domain of facts, and the agreement of all evaluators, in a process of its
    own. The answer is kept with the pack.
    """
    by, pack, store = service_only(), kept(digest), current().store
    stack = list((store.pack_files(pack.digest) or {}).values())
    proving = active_pack().proving
    if not proving.acquire(blocking=False):
        headers = {"Retry-After": str(PROOF_RETRY_S)}
        raise Problem(PROOF_RUNNING, "another proof is running; try again later", headers=headers)
    try:
        document = prove_apart(stack)
    finally:
        proving.release()
    proof = store.packs.keep_proof(pack.digest, document["passed"], document, by)
    return answer(proof_answer(pack, proof))


@packs.at("/<digest>/proof", parameters=[DIGEST])
@packs.gives(200, ProofAnswer, "What the last proof found.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, PROOF_UNKNOWN, STORE_UNAVAILABLE)
def read_proof(digest: str) -> Response:
    """Read what the last proof of a rule pack found."""
    pack = kept(digest)
    proof = current().store.packs.proof(pack.digest)
    if proof is None:
        raise Problem(PROOF_UNKNOWN, f"the pack '{pack.name}' {pack.version} was not proven yet; POST here")
    return answer(proof_answer(pack, proof))


@packs.at("/<digest>/impact", parameters=[DIGEST])
@packs.asks(ImpactQuery)
@packs.gives(200, ImpactAnswer, "What would change.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, QUERY_REFUSED, STORE_UNAVAILABLE)
def read_impact(query: dict[str, Any], digest: str) -> Response:
    """Compare a rule pack with the procedures that line items have now.

    Line items that state the same are looked at once. A procedure changes where its disposition, its
    stages, their order, their parameters or their members in the catalogue, or its cautions do.
    """
    snapshot = current()
    candidate = pack_of(snapshot.store, snapshot, kept(digest).digest)
    if candidate is None:
        raise LookupError(f"the pack {digest} cannot be read any more")
    comparison = Comparison(candidate, partial(pack_of, snapshot.store, snapshot))
    situations = snapshot.store.activations.situations_of(current_shop())
    return answer(Impact(comparison, situations).document(query["limit"]))
