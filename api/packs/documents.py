"""Findings, proofs, packs and activations as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rules.findings import Finding
from rules.places import Place
from schemas.figures import moment
from storage.records import Activation, KeptPack, KeptProof
from storage.shops import LOCAL

Document = dict[str, Any]


def blank(failure: str | None = None) -> Document:
    """A proof that did not come to its end."""
    return {
        "passed": False,
        "failure": failure,
        "cells": 0,
        "rules": 0,
        "assertions": 0,
        "cases": 0,
        "findings": [],
        "faults": [],
        "agreement": None,
    }


def finding_of(found: Finding) -> Document:
    """A finding as JSON."""
    return {"code": found.code, **place_of(found.place), "message": found.message}


def place_of(place: Place) -> Document:
    """A place in a file of a pack as JSON."""
    return {"pack": place.pack or None, "file": place.file, "line": place.line, "column": place.column}


def named(pack: KeptPack) -> Document:
    """Which pack."""
    return {"name": pack.name, "version": pack.version, "digest": pack.digest}


def listed(pack: KeptPack, active_digest: str) -> Document:
    """A kept pack as it is listed."""
    place = f"/v1/packs/{pack.digest}"
    links = {name: f"{place}/{name}" for name in ("files", "proof", "impact")}
    return {
        **named(pack),
        "kept_at": moment(pack.kept_at),
        "active": pack.digest == active_digest,
        "proven": pack.proven,
        "findings": list(pack.findings),
        "of_service": pack.shop == LOCAL,
        "laid_on": pack.laid_on,
        "links": {"self": place, **links},
    }


def proof_answer(pack: KeptPack, proof: KeptProof) -> Document:
    """A kept proof."""
    return {"pack": named(pack), "proven_at": moment(proof.proven_at), **proof.document}


def activation_of(activation: Activation, pack: KeptPack) -> Document:
    """A decision and the pack it is for."""
    return {
        "number": activation.number,
        "pack": named(pack),
        "effective_from": moment(activation.effective_from),
        "activated_at": moment(activation.activated_at),
        "origin": activation.origin,
    }


def told_in_proof(proof: Mapping[str, Any]) -> list[Document]:
    """What a proof found, as `errors` of a problem: message, code and place where there is one."""
    told: list[Document] = [{"detail": proof["failure"]}] if proof["failure"] else []
    told += [_error(found, found["code"], found["message"]) for found in proof["findings"]]
    for fault in proof["faults"]:
        witness = f"; for example: {fault['witness']['in_words']}" if fault["witness"] else ""
        told.append(_error(next(iter(fault["places"]), {}), fault["code"], fault["message"] + witness))
    for difference in (proof["agreement"] or {"differences": ()})["differences"]:
        told.append({"detail": f"{difference['engine']} disagrees with the reference: {difference['said']}"})
    return told


def in_lines(told: Iterable[Document]) -> str:
    """The same as text, a line each."""
    return "".join(f"{_before(each)}{each['detail']}\n" for each in told)


def _error(place: Mapping[str, Any], code: str, message: str) -> Document:
    where = {name: place[name] for name in ("file", "line", "column") if place}
    return {"detail": message, "code": code, **where}


def _before(told: Document) -> str:
    at = f"{told['file']}:{told['line']}:{told['column']} " if "file" in told else ""
    return f"{at}{told['code']} " if "code" in told else at
