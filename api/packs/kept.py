"""Rule packs: uploaded, proven, and compared with the line items there are.

A shop sees its own and those that the service has put in force.
"""

from __future__ import annotations

from functools import partial
from typing import Any

from flask import Response, url_for
from werkzeug.routing import BaseConverter

from api.answers import JSON, answer
from api.keys.checking import caller
from api.keys.scopes import RULES
from api.nouns import ETAG, Noun, header
from api.packs.at_work import active_pack, kept, most_packs, turn_to_prove, turn_to_work
from api.packs.comparing import Comparison
from api.packs.documents import Document, finding_of, listed, named, proof_answer
from api.packs.impact import Impact
from api.packs.proofs import prove_apart
from api.packs.reading import Files, PackUnreadable, laid
from api.packs.service_pack import API
from api.packs.uploads import ZIP, pack_refused, uploaded_files
from api.pages import LINK, page_answer
from api.problem_types import (
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    BODY_TOO_LARGE,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PACK_IN_USE,
    PACK_REFUSED,
    PACK_UNKNOWN,
    PACK_WORK_RUNNING,
    PROOF_RUNNING,
    PROOF_UNKNOWN,
    QUERY_REFUSED,
    SERVICE_ONLY,
    STORE_UNAVAILABLE,
    TOO_MANY_PACKS,
)
from api.problems import Problem
from api.shops import LOCAL, current_shop
from api.snapshot import store_in_use
from rules.loading import check_files
from schemas.pack import PACKS, ImpactQuery, PacksQuery, PackUpload
from schemas.pack_answer import PackFiles, PackList, PackListed, ProofAnswer
from schemas.pack_impact import ImpactAnswer
from storage.faults import PackInUse, PackNotKept, TooManyPacks
from storage.records import KeptPack
from storage.sandboxes import is_sandbox

MAX_PACK_BYTES = "MAX_PACK_BYTES"
"""The name, in the configuration of the application, of the bound on the body of an upload."""

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


class DigestConverter(BaseConverter):
    """What may stand for a digest in a path; `active` stands for something else."""

    regex = r"(?!active$)[^/]+"


packs = Noun("packs", __name__, url_prefix="/v1/packs", scope=RULES, description=__doc__)


@packs.at("", "POST")
@packs.repeatable
@packs.bounded(MAX_PACK_BYTES)
@packs.reads(UPLOAD)
@packs.gives(201, PackListed, "The pack is kept.", headers=LOCATION)
@packs.refuses(
    MALFORMED_JSON,
    TOO_MANY_PACKS,
    BODY_TOO_LARGE,
    MEDIA_TYPE_UNSUPPORTED,
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    PACK_REFUSED,
    PACK_WORK_RUNNING,
    STORE_UNAVAILABLE,
)
def create_pack() -> Response:
    """Upload the files of an overlay; with a key of the shop `local` also those of a whole rule pack.

    An overlay is laid on the pack that the service has in force. It is kept for the shop, and nothing else
    changes. The same files on the same pack always have the same `digest`, so that a request can be repeated
    without harm. A pack that can be built is kept even where checks find something.
    """
    return _keep(uploaded_files())


@packs.at("")
@packs.asks(PacksQuery)
@packs.gives(200, PackList, "Kept packs, last kept first.", headers=ETAG | LINK)
@packs.refuses(QUERY_REFUSED, STORE_UNAVAILABLE)
def list_packs(query: dict[str, Any]) -> Response:
    """List the rule packs that the shop keeps, and those that the service has put in force."""
    shop = current_shop()
    page = partial(store_in_use().packs.page, shop)
    return page_answer("packs.list_packs", query, page, _listed)


@packs.at("/<digest:digest>", parameters=[DIGEST])
@packs.gives(200, PackListed, "The pack.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, STORE_UNAVAILABLE)
def read_pack(digest: str) -> Response:
    """Read about a rule pack."""
    return answer(_listed(kept(digest)))


@packs.at("/<digest:digest>", "DELETE", parameters=[DIGEST])
@packs.gives_nothing("The shop keeps it no longer.")
@packs.refuses(SERVICE_ONLY, PACK_UNKNOWN, PACK_IN_USE, STORE_UNAVAILABLE)
def delete_pack(digest: str) -> Response:
    """Delete a rule pack of the shop that it has never put in force, with its proof."""
    try:
        store_in_use().packs.forget(current_shop(), _own(digest).digest, caller())
    except PackInUse as error:
        raise Problem(PACK_IN_USE, "your shop has put this pack in force, or has decided to") from error
    return Response(status=204)


@packs.at("/<digest>/files", parameters=[DIGEST])
@packs.gives(200, PackFiles, "Its files.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, STORE_UNAVAILABLE)
def read_pack_files(digest: str) -> Response:
    """Read the files of a rule pack; those of the uppermost layer can be changed and uploaded again."""
    pack = kept(digest)
    layers = (store_in_use().pack_files(pack.digest) or {}).items()
    return answer(
        {"pack": named(pack), "layers": [{"name": name, "files": dict(files)} for name, files in layers]}
    )


@packs.at("/<digest>/renewal", "POST", parameters=[DIGEST])
@packs.repeatable
@packs.gives(201, PackListed, "The new pack is kept.", headers=LOCATION)
@packs.refuses(SERVICE_ONLY, PACK_UNKNOWN, TOO_MANY_PACKS, PACK_REFUSED, PACK_WORK_RUNNING, STORE_UNAVAILABLE)
def renew_pack(digest: str) -> Response:
    """Lay the overlay of a rule pack of the shop on the pack that the service has in force now.

    That makes a new pack, to be proven, compared and put in force like one that was uploaded. Where the
    overlay does not fit any more, `errors` tell what is to be mended.
    """
    layers = store_in_use().pack_files(_own(digest).digest) or {}
    return _keep(list(layers.values())[-1])


@packs.at("/<digest>/proof", "POST", parameters=[DIGEST])
@packs.gives(200, ProofAnswer, "What the proof found.")
@packs.refuses(SERVICE_ONLY, PACK_UNKNOWN, PROOF_RUNNING, STORE_UNAVAILABLE)
def prove_pack(digest: str) -> Response:
    """Prove a rule pack over every combination of facts; takes some seconds.

    Checks, cases, the whole domain of facts, and the agreement of all evaluators, in a process of its
    own. The answer is kept with the pack.
    """
    pack, store = _own(digest), store_in_use()
    stack = list((store.pack_files(pack.digest) or {}).values())
    with turn_to_prove():
        document = prove_apart(stack)
    try:
        proof = store.packs.keep_proof(pack.shop, pack.digest, document["passed"], document, caller())
    except PackNotKept as error:
        raise Problem(PACK_UNKNOWN, "the rule pack was deleted while it was proven") from error
    return answer(proof_answer(pack, proof))


@packs.at("/<digest>/proof", parameters=[DIGEST])
@packs.gives(200, ProofAnswer, "What the last proof found.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, PROOF_UNKNOWN, STORE_UNAVAILABLE)
def read_proof(digest: str) -> Response:
    """Read what the last proof of a rule pack found."""
    pack = kept(digest)
    proof = store_in_use().packs.proof(current_shop(), pack.digest)
    if proof is None:
        raise Problem(PROOF_UNKNOWN, f"the pack '{pack.name}' {pack.version} was not proven yet; POST here")
    return answer(proof_answer(pack, proof))


@packs.at("/<digest>/impact", parameters=[DIGEST])
@packs.asks(ImpactQuery)
@packs.gives(200, ImpactAnswer, "What would change.", headers=ETAG)
@packs.refuses(PACK_UNKNOWN, QUERY_REFUSED, PACK_WORK_RUNNING, STORE_UNAVAILABLE)
def read_impact(query: dict[str, Any], digest: str) -> Response:
    """Compare a rule pack with the procedures that line items of the shop have now.

    With a key of the shop `local`: with those of all shops that follow the service; what belongs to another
    shop is counted and not named. Line items that state the same are looked at once. A procedure changes
    where its disposition, its stages, their order, their parameters or their members in the catalogue, or
    its cautions do.
    """
    shop, find_pack = current_shop(), active_pack().find_pack
    with turn_to_work():
        candidate = find_pack(kept(digest).digest)
        if candidate is None:
            raise PackUnreadable(f"the pack {digest} cannot be read any more")
        situations = [
            each for each in store_in_use().activations.situations(shop) if not is_sandbox(each.shop)
        ]
        impact = Impact(Comparison(candidate, find_pack), situations, shop)
        return answer(impact.document(query["limit"]))


def _keep(files: Files) -> Response:
    """Keep the pack that files make, laid on what the shop follows. Raises Problem."""
    shop, by = current_shop(), caller()
    with turn_to_work():
        below, laid_on = active_pack().below(shop)
        stack = laid(files, below) if shop == LOCAL else [*below, files]
        checked = check_files(stack)
    if checked.pack is None:
        raise pack_refused(files, checked.findings)
    findings, packs_kept = [finding_of(found) for found in checked.findings], store_in_use().packs
    try:
        packs_kept.keep(shop, checked.pack, findings, API, by, laid_on, most_packs())
    except TooManyPacks as error:
        told = f"your shop keeps {most_packs()} packs, and no more; delete one that was only tried out"
        raise Problem(TOO_MANY_PACKS, told) from error
    response = answer(_listed(kept(checked.pack.digest)), 201)
    response.location = url_for("packs.read_pack", digest=checked.pack.digest)
    return response


def _own(digest: str) -> KeptPack:
    """A pack that the shop itself keeps. Raises Problem."""
    pack = kept(digest)
    if pack.shop != current_shop():
        told = "this pack is one of the service, for which only keys of the shop"
        raise Problem(SERVICE_ONLY, f"{told} '{LOCAL}' do that")
    return pack


def _listed(pack: KeptPack) -> Document:
    return listed(pack, active_pack().digest_for(current_shop()))
