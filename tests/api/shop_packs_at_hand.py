"""House rules of shops, told apart by the coats of promoter that they want, on the small pack."""

from __future__ import annotations

from flask import Flask
from flask.testing import FlaskClient
from keys_at_hand import store_of
from packs_at_hand import Files, overlay
from sqlalchemy import select

from api.packs.at_work import active_pack
from rules.loading import load_files
from rules.pack import Pack
from storage.tables import outbox

PROMOTER = """\
  - id: house-coats
    when: {surface_energy: low, airbag_cover: false}
    set: {adhesion-promoter.coats: COATS}
    overrides: [promote-low-energy-plastics]
    why: The invented shop wants it so.
    source: house rule of an invented shop
"""
CASES = """\
cases:
  - name: polypropylene, as the invented shop does it
    given: {material: PP, damage_type: scratch}
    expect: {parameters: {adhesion-promoter.coats: COATS}}
"""


def house_rules(coats: int) -> Files:
    """An overlay on the small pack; it can be proven."""
    files = overlay(PROMOTER, cases=CASES)
    return {path: text.replace("COATS", str(coats)) for path, text in files.items()}


def keep_for(app: Flask, shop: str, files: Files, proven: bool = True) -> Pack:
    """An overlay laid on what the service has in force, as if the shop had uploaded and proven it."""
    below, laid_on = active_pack(app).below(shop)
    pack, packs = load_files([*below, files]), store_of(app).packs
    packs.keep(shop, pack, laid_on=laid_on)
    if proven:
        packs.keep_proof(shop, pack.digest, True, {"passed": True})
    return pack


def upload(client: FlaskClient, files: Files) -> str:
    """The digest of an uploaded pack."""
    response = client.post("/v1/packs", json={"files": files})
    assert response.status_code == 201, response.text
    digest: str = response.get_json()["digest"]
    return digest


def listed(client: FlaskClient) -> list[str]:
    """The digests of the packs that a shop is shown."""
    return [each["digest"] for each in client.get("/v1/packs?limit=100").get_json()["items"]]


def superseded(app: Flask) -> list[tuple[str, str]]:
    """(shop, reference) of every line item that was told."""
    with store_of(app)._engine.connect() as connection:
        rows = connection.execute(select(outbox.c.shop, outbox.c.reference).order_by(outbox.c.number))
        return [tuple(row) for row in rows]
