"""The files of a rule pack from the body of a request: a JSON object, or a zip archive."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from flask import request
from marshmallow import ValidationError

from api.answers import JSON
from api.packs.documents import Document
from api.packs.reading import Files
from api.problem_types import (
    ARCHIVE_REFUSED,
    BODY_REFUSED,
    MALFORMED_JSON,
    MEDIA_TYPE_UNSUPPORTED,
    PACK_REFUSED,
)
from api.problems import MOST_ERRORS, Problem, refused
from api.requests import refuse_encoded
from rules.findings import Finding
from schemas.faults import faults_of_body, pointer
from schemas.pack import PackUpload
from schemas.pack_archive import ArchiveRefused, files_in
from schemas.strict_json import MalformedJson, read_json

ZIP = "application/zip"


def uploaded_files() -> Files:
    """The texts of the pack that this request sends, by path. Raises Problem."""
    refuse_encoded(request)
    match request.mimetype:
        case "application/json":
            return _from_json()
        case "application/zip":
            return _from_archive()
        case other:
            told = f"the body is sent as '{other}'" if other else "Content-Type is missing"
            accepted = {"Accept": f"{JSON}, {ZIP}"}
            raise Problem(MEDIA_TYPE_UNSUPPORTED, f"{told}; send {JSON} or {ZIP}", headers=accepted)


def pack_refused(files: Files, findings: Sequence[Finding]) -> Problem:
    """A problem that tells every finding with its place in the files that were sent."""
    first, more = findings[0], len(findings) - 1
    told = f"{first.place} {first.code} {first.message}" + (f" (and {more} more)" if more else "")
    return Problem(PACK_REFUSED, told, errors=list(islice(_errors(files, findings), MOST_ERRORS)))


def _from_json() -> Files:
    schema = PackUpload()
    try:
        files: Files = schema.load(read_json(request.get_data(cache=False)))["files"]
    except MalformedJson as error:
        raise Problem(MALFORMED_JSON, str(error)) from error
    except ValidationError as error:
        raise refused(BODY_REFUSED, faults_of_body(error, schema)) from error
    return files


def _from_archive() -> Files:
    try:
        return files_in(request.get_data(cache=False))
    except ArchiveRefused as error:
        raise Problem(ARCHIVE_REFUSED, str(error)) from error


def _errors(files: Files, findings: Sequence[Finding]) -> Iterator[Document]:
    for found in findings:
        place = found.place
        yield {
            "pointer": pointer("/files", place.file) if place.file in files else "/files",
            "detail": found.message,
            "code": found.code,
            "file": place.file,
            "line": place.line,
            "column": place.column,
        }
