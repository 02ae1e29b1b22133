"""Issuing a record: all its files together in a fresh folder, or none."""

import hashlib
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.model.errors import RecordError
from fleet.record.layout import render_pdf
from fleet.record.tables import units_csv
from fleet.signing.canonical import canonical_bytes, in_nfc
from fleet.signing.ed25519 import fingerprint, public_pem, sign

RECORD, SIGNATURE, KEY, PAGES, UNITS = (
    "record.json",
    "record.sig",
    "key.pem",
    "record.pdf",
    "units.csv",
)


@dataclass(frozen=True, slots=True)
class IssuedRecord:
    """A record on disk.

    Attributes:
        paths: its files.
        digest: SHA-256 of record.json, hex.
        fingerprint: of the key that signed it.
    """

    paths: tuple[Path, ...]
    digest: str
    fingerprint: str


def issue(
    folder: Path,
    document: Mapping[str, Any],
    room_svgs: Mapping[str, str],
    private_key: Ed25519PrivateKey,
) -> IssuedRecord:
    """Write record.json, record.sig, key.pem, record.pdf and units.csv into a folder.

    Args:
        folder: a new or empty folder; it appears with all files at once.
        document: what the record says.
        room_svgs: room key → its drawing.
        private_key: signs it.

    Raises:
        RecordError: the folder holds something, can't be written, or the record can't be laid out.
    """
    _refuse_taken(folder)
    print_of_key = fingerprint(private_key.public_key())
    record_json = canonical_bytes(document)
    files = {
        RECORD: record_json,
        SIGNATURE: sign(private_key, record_json),
        KEY: public_pem(private_key.public_key()),
        PAGES: render_pdf(in_nfc(document), room_svgs, record_json, print_of_key),
        UNITS: units_csv(in_nfc(document)),
    }
    try:
        _write_together(folder, files)
    except OSError as reason:
        raise _unwritten(folder, f"it can't be written: {reason.strerror}") from reason
    digest = hashlib.sha256(record_json).hexdigest()
    return IssuedRecord(tuple(folder / name for name in files), digest, print_of_key)


def _refuse_taken(folder: Path) -> None:
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as reason:
        raise _unwritten(folder, f"it can't be read: {reason.strerror}") from reason
    if taken:
        raise _unwritten(folder, "it is not an empty folder, and a record is never written over")


def _write_together(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    half = Path(tempfile.mkdtemp(dir=folder.parent, prefix=".record-"))
    try:
        for name, data in files.items():
            (half / name).write_bytes(data)
        if folder.exists():
            folder.rmdir()
        half.rename(folder)
    except BaseException:
        shutil.rmtree(half, ignore_errors=True)
        raise


def _unwritten(folder: Path, reason: str) -> RecordError:
    return RecordError(
        f"{reason}.",
        subject=str(folder),
        stands="Nothing was written there.",
        next_step="Name another folder.",
    )
