"""The record as pages: typst lays out `resources/record/record.typ` from the record's own JSON.

Text reaches typst as data alone, so nothing that a unit or a plan says can become markup.
"""

import contextlib
import hashlib
import io
import json
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import segno
import typst

from fleet.model.clock import from_rfc3339
from fleet.model.errors import RecordError
from fleet.shipped import resources

_SANS = ("B612-Regular.otf", "B612-Bold.otf", "B612-Italic.otf")
_LAST_PRINTABLE = "\u04ff"  # Latin, Greek, Cyrillic
_SIGNS = frozenset("–—‘’“”„†‡•…‰‹›€™−×÷≤≥≠±°")


def render_pdf(
    document: Mapping[str, Any],
    room_svgs: Mapping[str, str],
    record_json: bytes,
    fingerprint: str,
) -> bytes:
    """Lay a record out as a tagged PDF with the record attached.

    Letters that the shipped font lacks are printed as "?", and the cover says so; the attached
    record keeps them.

    Args:
        document: the record.
        room_svgs: room key → its drawing.
        record_json: the record's signed bytes, attached as they are.
        fingerprint: of the key that signs.

    Raises:
        RecordError: the layout failed or typst warned of anything.
    """
    try:
        return _compiled(document, room_svgs, record_json, fingerprint, reduced=False)
    except typst.TypstError:
        return _reduced(document, room_svgs, record_json, fingerprint)


def qr_text(number: str, digest: str) -> str:
    """Return what the cover's QR code says: the record's number and its SHA-256."""
    return f"walkdown-record/1 {number} sha256:{digest}"


def _reduced(
    document: Mapping[str, Any], room_svgs: Mapping[str, str], record_json: bytes, fingerprint: str
) -> bytes:
    svgs = {key: _printable(svg) for key, svg in room_svgs.items()}
    try:
        return _compiled(_printable_in(document), svgs, record_json, fingerprint, reduced=True)
    except typst.TypstError as reason:
        raise _failed(reason.message) from reason


def _compiled(
    document: Mapping[str, Any],
    room_svgs: Mapping[str, str],
    record_json: bytes,
    fingerprint: str,
    *,
    reduced: bool,
) -> bytes:
    digest = hashlib.sha256(record_json).hexdigest()
    seal = {
        "fingerprint": fingerprint,
        "digest": digest,
        "qr": qr_svg(qr_text(str(document["number"]), digest)),
        "reduced": reduced,
    }
    with shipped_fonts() as fonts:
        pdf, warnings = typst.compile_with_warnings(
            (resources() / "record" / "record.typ").read_bytes(),
            font_paths=fonts,
            format="pdf",
            pdf_standards=[
                "a-3a",
                "ua-1",
            ],  # declared; no validator is at hand, so no more is claimed
            timestamp=int(from_rfc3339(str(document["issued_at"])).timestamp()),
            sys_inputs={
                "document": json.dumps(document, ensure_ascii=False),
                "record": record_json.decode("utf-8"),
                "drawings": json.dumps(dict(room_svgs), ensure_ascii=False),
                "seal": json.dumps(seal),
            },
        )
    if warnings:
        raise _failed("; ".join(warning.message for warning in warnings))
    return pdf


@contextlib.contextmanager
def shipped_fonts() -> Iterator[typst.Fonts]:
    """Give the shipped sans alone, with typst's own fonts for the letters that it lacks.

    typst goes by the family's old name, under which sans and mono of B612 are one family, so the
    mono must not lie in the folder that it reads.
    """
    with tempfile.TemporaryDirectory(prefix="walkdown-") as folder:
        for name in _SANS:
            shutil.copyfile(resources() / "fonts" / name, Path(folder) / name)
        yield typst.Fonts(include_system_fonts=False, font_paths=[folder])


def qr_svg(text: str) -> str:
    """Return a QR code (error correction M, a blank border of 4 modules) as SVG; byte mode is UTF-8."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False)
    return out.getvalue().decode("utf-8")


def _printable(text: str) -> str:
    return "".join(letter if _prints(letter) else "?" for letter in text)


def _prints(letter: str) -> bool:
    if letter in _SIGNS or letter == "\n":
        return True
    return letter.isprintable() and letter <= _LAST_PRINTABLE


def _printable_in(document: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _printable_value(value) for name, value in document.items()}


def _printable_value(value: object) -> object:
    match value:
        case str():
            return _printable(value)
        case Mapping():
            return _printable_in(value)
        case list():
            return [_printable_value(item) for item in value]
        case _:
            return value


def _failed(reason: str) -> RecordError:
    return RecordError(
        f"the pages can't be laid out: {reason}.",
        subject="record.pdf",
        stands="No record was written.",
        next_step="Report this with the plan, so that the layout can be mended.",
    )
