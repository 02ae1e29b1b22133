"""Codes on a sheet of labels, read back by a reader that is not ours (ISO/IEC 18004)."""

from urllib.parse import unquote

import numpy as np
import segno
import zxingcpp
from PySide6.QtGui import QImage

from fleet.record.labels import LARGEST_VERSION, Label, code_text, rendered

NUMBER = "WD-S1F8A03C2"


def pixels_of(png: bytes) -> np.ndarray:
    image = QImage.fromData(png).convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : image.width()].copy()  # the picture goes, and its bytes with it


def read_back(pages: list[bytes]) -> list[zxingcpp.Barcode]:
    return [
        code
        for page in pages
        for code in zxingcpp.read_barcodes(pixels_of(page), formats=zxingcpp.BarcodeFormat.QRCode)
    ]


def test_every_code_of_two_sheets_is_read_back_as_it_was_written():
    labels = [Label(f"inv-{n:04}", f"U{n}", "Hall", NUMBER) for n in range(40)]
    codes = read_back(rendered(labels, "png", start_at=5, cut_marks=True))
    assert sorted(code.text for code in codes) == sorted(map(code_text, labels))


def test_serials_of_any_letters_and_up_to_the_largest_code_are_read_back():
    serials = [
        "نادية ١٢",
        "密码 😀",
        "a\u202eb=c d%20",
        'quote"\n\x00',
        "ü" * 60,
        "Z" * 440,
    ]
    codes = read_back(rendered([Label(s, "U", "Hall", NUMBER) for s in serials], "png"))
    read = {unquote(code.text.split("serial=")[1].split(" record=")[0]) for code in codes}
    assert read == set(serials)


def test_a_code_is_read_with_a_blot_on_it():
    # ISO/IEC 18004, 7.5.1 (M): level M recovers about 15 % of the codewords; a level above M is taken
    # where the code grows no larger by it.
    label = Label("inv-0001", "U01", "Hall", NUMBER)
    page = pixels_of(rendered([label], "png")[0])
    (code,) = zxingcpp.read_barcodes(page)
    assert code.ec_level in ("M", "Q", "H")
    left, top = code.position.top_left.x, code.position.top_left.y
    side = code.position.bottom_right.x - left
    page[top + side // 2 :, left + side // 2 :][: side // 5, : side // 5] = 0
    assert [blotted.text for blotted in zxingcpp.read_barcodes(page)] == [code_text(label)]


def test_around_a_code_four_modules_are_blank():
    # ISO/IEC 18004, 6.3.8 (M): the quiet zone of a QR code is 4 modules wide on each side.
    label = Label("inv-0001", "U01", "Hall", NUMBER)
    page = pixels_of(rendered([label], "png")[0])
    (code,) = zxingcpp.read_barcodes(page)
    modules = segno.make(code_text(label), error="m", micro=False).symbol_size(border=0)[0]
    left, top = code.position.top_left.x, code.position.top_left.y
    right, bottom = code.position.bottom_right.x, code.position.bottom_right.y
    quiet = round(4 * (right - left) / modules) - 2  # two pixels for where an edge is taken to be
    dark = page < 200
    dark[top - 1 : bottom + 2, left - 1 : right + 2] = False
    assert not dark[top - quiet : bottom + quiet, left - quiet : right + quiet].any()


def test_the_largest_code_of_a_label_has_modules_of_a_third_of_a_millimetre():
    # ISO/IEC 18004, 6.3.1 (M): version v has 17 + 4 v modules a side.
    assert 28 / (17 + 4 * LARGEST_VERSION + 8) > 0.3
