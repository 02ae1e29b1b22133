"""Checking a record's folder part by part: which one doesn't match, and never a traceback."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_public_key
from jsonschema import Draft202012Validator

from fleet.model.errors import RecordError
from fleet.record.attachments import attached_file
from fleet.record.issuing import KEY, PAGES, RECORD, SIGNATURE, UNITS
from fleet.record.tables import units_csv
from fleet.shipped import resources
from fleet.signing.canonical import canonical_bytes
from fleet.signing.ed25519 import fingerprint, verify

MOST_BYTES: Mapping[str, int] = {
    RECORD: 16_000_000,
    SIGNATURE: 64,
    KEY: 4_000,
    PAGES: 64_000_000,
    UNITS: 4_000_000,
}
"""No honest file of a record is larger; more is not read."""

FORM, SCHEMA = "canonical form", "schema"


@dataclass(frozen=True, slots=True)
class PartReport:
    """A part of a record: whether it matches, and why or why not in one sentence."""

    name: str
    ok: bool
    reason: str


@dataclass(frozen=True, slots=True)
class CheckReport:
    """All parts of a record, in the order in which they were looked at."""

    parts: tuple[PartReport, ...]

    @property
    def ok(self) -> bool:
        """Whether every part matches."""
        return all(part.ok for part in self.parts)


class _UnfitError(Exception):
    """A file can't be used; says why."""


def check(folder: Path) -> CheckReport:
    """Check signature, form, schema, PDF and table of the record in a folder.

    That everything matches proves that nothing changed since it was signed with the key that lies
    beside it; who signed is known only by comparing the key's fingerprint, which the report gives.

    Args:
        folder: as `fleet.record.issuing.issue` left it; any other content is reported, not raised.
    """
    return CheckReport(
        (
            _part(KEY, _check_key, folder),
            _part(SIGNATURE, _check_signature, folder),
            _part(FORM, _check_form, folder),
            _part(SCHEMA, _check_schema, folder),
            _part(PAGES, _check_pages, folder),
            _part(UNITS, _check_units, folder),
        )
    )


def _part(name: str, look: Callable[[Path], str], folder: Path) -> PartReport:
    try:
        return PartReport(name, ok=True, reason=look(folder))
    except _UnfitError as reason:
        return PartReport(name, ok=False, reason=_sayable(str(reason)))
    except RecursionError:
        return PartReport(
            name, ok=False, reason="record.json is nested deeper than a record's may be"
        )


def _sayable(text: str) -> str:
    """Keep what a forged record says from moving the cursor of who reads the report."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _check_key(folder: Path) -> str:
    return (
        f"its fingerprint is {fingerprint(_public_key(folder))}; a key in the same folder proves "
        "that nothing changed, not who signed: compare the fingerprint with the signer's"
    )


def _check_signature(folder: Path) -> str:
    record, signature = _read(folder, RECORD), _read(folder, SIGNATURE)
    if not verify(_public_key(folder), signature, record):
        raise _UnfitError(
            "it is not the signature of this record.json by this key.pem: one of the three was changed"
        )
    return f"signed is record.json with SHA-256 {hashlib.sha256(record).hexdigest()}"


def _check_form(folder: Path) -> str:
    try:
        same = canonical_bytes(_document(folder)) == _read(folder, RECORD)
    except RecordError as reason:
        raise _UnfitError(f"record.json is no canonical JSON: {reason.what}") from reason
    if not same:
        raise _UnfitError("record.json is not written in canonical form (RFC 8785)")
    return "record.json is canonical by RFC 8785"


def _check_schema(folder: Path) -> str:
    document = _document(folder)
    errors = sorted(_validator().iter_errors(document), key=lambda error: error.json_path)
    if errors:
        first = errors[0]
        raise _UnfitError(
            f"record.json differs from its schema at {first.json_path}: {first.message[:200]}"
        )
    return f"record.json is of the format {document['format']}"


def _check_pages(folder: Path) -> str:
    record, pdf = _read(folder, RECORD), _read(folder, PAGES)
    try:
        attached = attached_file(pdf, MOST_BYTES[RECORD])
    except ValueError as reason:
        raise _UnfitError(str(reason)) from reason
    if attached != record:
        raise _UnfitError("the record attached to it is not this record.json")
    return "record.json is attached to it byte for byte; the look of its pages is not signed"


def _check_units(folder: Path) -> str:
    table = _read(folder, UNITS)
    try:
        expected = units_csv(_document(folder))
    except (KeyError, TypeError, AttributeError, ValueError) as reason:
        raise _UnfitError("record.json has no register to hold it against") from reason
    if table != expected:
        raise _UnfitError(
            f"it differs from the register in record.json{_first_line(table, expected)}"
        )
    return "it is the register of record.json"


def _first_line(table: bytes, expected: bytes) -> str:
    lines, wanted = table.split(b"\r\n"), expected.split(b"\r\n")
    for number, pair in enumerate(zip(lines, wanted, strict=False), start=1):
        if pair[0] != pair[1]:
            return f", first in line {number}"
    return ", by lines missing or added at its end"


def _document(folder: Path) -> dict[str, Any]:
    data = _read(folder, RECORD)
    try:
        document = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as reason:
        raise _UnfitError("record.json is no JSON: it is damaged or cut off") from reason
    if not isinstance(document, dict):
        raise _UnfitError("record.json is no JSON object")
    return document


def _public_key(folder: Path) -> Ed25519PublicKey:
    try:
        key = load_pem_public_key(_read(folder, KEY))
    except (ValueError, UnsupportedAlgorithm) as reason:
        raise _UnfitError("key.pem holds no public key: it is damaged or cut off") from reason
    if not isinstance(key, Ed25519PublicKey):
        raise _UnfitError("key.pem holds a key that is not of the kind Ed25519")
    return key


def _read(folder: Path, name: str) -> bytes:
    path, most = folder / name, MOST_BYTES[name]
    try:
        if not path.is_file():
            raise _UnfitError(f"{name} is missing")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as reason:
        raise _UnfitError(f"{name} can't be read: {reason.strerror}") from reason
    if len(data) > most:
        raise _UnfitError(f"{name} is larger than a record's may be ({most} bytes)")
    return data


def _validator() -> Draft202012Validator:
    path = resources() / "schemas" / "record.schema.json"
    return Draft202012Validator(json.loads(path.read_text(encoding="utf-8")))
