"""Sticky labels for units: a QR code of serial and record number, and both in words beside it.

A sheet is A4 with 3 × 8 labels of 70 × 37 mm, a common size of sticky sheets. What a code holds is plain
text of our own, so that any reader of codes shows it:

    WALKDOWN 1 serial=SERIAL record=NUMBER

with everything but unreserved characters (RFC 3986 §2.3) percent-encoded from UTF-8. "1" is the version
of this form. Where a serial is longer than its line the line is cut with an ellipsis; the code holds all.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, cast
from urllib.parse import quote

import segno
import typst

from fleet.model.errors import PlanError, RecordError
from fleet.model.journal import JournalRow
from fleet.record.layout import qr_svg, shipped_fonts
from fleet.record.lettering import FONTS, Lettering
from fleet.shipped import resources

PER_SHEET = 24
PPI = 300
LARGEST_VERSION = 17
"""QR codes of a higher version would have modules under 0.3 mm on a label (93 of them on 28 mm)."""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label.

    Attributes:
        serial: of the unit; not empty.
        label: what the unit is called in the schedule.
        room: the room's name.
        record_number: leads to the record of the site.
    """

    serial: str
    label: str
    room: str
    record_number: str


def site_number(rows: Iterable[JournalRow], site: str) -> str:
    """Return a site's own number, the same before and after any record is issued: for example WD-S1F8A03C2.

    It is the head of the SHA-256 of the journal's row that tells of the site's adding: that row never
    changes, and its time makes it differ between two inventories with sites of one name.

    Raises:
        RecordError: the journal tells of no such site.
    """
    for row in rows:
        if (row.what, row.subject) == ("site-added", site):
            return f"WD-S{row.sha256[:8].upper()}"
    raise RecordError(
        "the journal doesn't tell when it was added.",
        subject=site,
        stands="No label was written.",
        next_step="Check the inventory, and restore the last good backup.",
    )


def code_text(label: Label) -> str:
    """Return what a label's code holds."""
    return f"WALKDOWN 1 serial={_encoded(label.serial)} record={_encoded(label.record_number)}"


def label_sheet(
    labels: Sequence[Label],
    path: Path,
    *,
    start_at: int = 1,
    cut_marks: bool = False,
    note: str = "",
) -> None:
    """Write labels as a PDF, sheet after sheet.

    Letters that no shipped font has are printed as "?"; the code holds them.

    Args:
        labels: in the order in which they are to be stuck on.
        path: a new file.
        start_at: place of the first label on the first sheet, 1 to 24, so that a begun sheet can be used
            up; counted along the rows.
        cut_marks: mark the labels' corners, for paper that isn't sticky.
        note: a last line on every label, for example that the house is invented.

    Raises:
        PlanError: there are no labels, there is no such place, or a serial is too long for a code.
        RecordError: the file is there already or can't be written, or the layout failed.
    """
    (pdf,) = rendered(labels, "pdf", start_at=start_at, cut_marks=cut_marks, note=note)
    try:
        with path.open("xb") as file:
            file.write(pdf)
    except FileExistsError as reason:
        raise _unwritten(path, "it is there already, and no file is written over") from reason
    except OSError as reason:
        raise _unwritten(path, f"it can't be written: {reason.strerror}") from reason


def rendered(
    labels: Sequence[Label],
    form: Literal["pdf", "png"],
    *,
    start_at: int = 1,
    cut_marks: bool = False,
    note: str = "",
) -> list[bytes]:
    """Return one PDF of all sheets, or a PNG (300 dpi) a sheet; arguments and errors as `label_sheet`."""
    _refuse_unfit(labels, start_at)
    with shipped_fonts() as fonts:
        lettering = Lettering(fonts)
        sheet = {
            "labels": [_members(label, lettering) for label in labels],
            "start_at": start_at,
            "cut_marks": cut_marks,
            "note": lettering.printable(note),
            "fonts": FONTS,
        }
        try:
            return _compiled(sheet, fonts, form)
        except typst.TypstError as reason:
            raise _failed(reason.message) from reason


def _compiled(
    sheet: Mapping[str, object], fonts: typst.Fonts, form: Literal["pdf", "png"]
) -> list[bytes]:
    made, warnings = typst.compile_with_warnings(
        (resources() / "record" / "labels.typ").read_bytes(),
        font_paths=fonts,
        format=form,
        ppi=PPI,
        sys_inputs={"sheet": json.dumps(sheet)},
    )
    if warnings:
        raise _failed("; ".join(warning.message for warning in warnings))
    # Several pictures come as a list, which its stubs omit.
    pages = cast("bytes | list[bytes]", made)
    return pages if isinstance(pages, list) else [pages]


def _refuse_unfit(labels: Sequence[Label], start_at: int) -> None:
    if not labels:
        raise _refused(
            "there is no unit with a serial to make a label for", "Put serials in first."
        )
    if not 1 <= start_at <= PER_SHEET:
        raise _refused(
            f"a sheet has the places 1 to {PER_SHEET}, and no place {start_at}", "Name one of them."
        )
    for label in labels:
        if not label.serial or not _fits_code(label):
            raise _refused(
                f"the serial of {label.label} is empty, or too long for the code on a label",
                "Mend the schedule.",
            )


def _fits_code(label: Label) -> bool:
    try:
        segno.make(code_text(label), error="m", micro=False, version=LARGEST_VERSION)
    except segno.DataOverflowError:
        return False
    return True


def _encoded(text: str) -> str:
    # Half a character of a hostile unit stays one.
    return quote(text, safe="", errors="surrogatepass")


def _members(label: Label, lettering: Lettering) -> Mapping[str, str]:
    return {
        "label": lettering.printable(label.label),
        "room": lettering.printable(label.room),
        "serial": lettering.printable(label.serial),
        "record": lettering.printable(label.record_number),
        "qr": qr_svg(code_text(label)),
    }


def _refused(reason: str, next_step: str) -> PlanError:
    return PlanError(f"{reason}.", stands="No label was written.", next_step=next_step)


def _unwritten(path: Path, reason: str) -> RecordError:
    return RecordError(
        f"{reason}.",
        subject=str(path),
        stands="No label was written.",
        next_step="Name another file.",
    )


def _failed(reason: str) -> RecordError:
    return RecordError(
        f"the labels can't be laid out: {reason}.",
        stands="No label was written.",
        next_step="Report this with the schedule, so that the layout can be mended.",
    )
