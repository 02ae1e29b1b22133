"""Label sheets: what stands where, what is refused, and nothing beyond its label."""

import io
import time

import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QImage

from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError, RecordError
from fleet.record import labels as labels_module
from fleet.record.labels import PER_SHEET, PPI, Label, code_text, label_sheet, rendered, site_number
from fleet.record.layout import shipped_fonts
from fleet.record.lettering import MOST_CHARS, Lettering
from tests.inventories import CountingClock, small_plan

NUMBER = "WD-S1F8A03C2"
WIDTH_MM, HEIGHT_MM, TOP_MM = 70.0, 37.0, 0.5


def some(count: int) -> list[Label]:
    return [Label(f"inv-{n:04}", f"U{n:02}", "Hall", NUMBER) for n in range(1, count + 1)]


def ink_mm(png: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Return x and y (mm) of every inked pixel of a page."""
    image = QImage.fromData(png).convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    y, x = np.nonzero(rows[:, : image.width()] < 200)
    return x * 25.4 / PPI, y * 25.4 / PPI


def places_used(png: bytes) -> set[int]:
    x, y = ink_mm(png)
    return set(np.unique(x // WIDTH_MM + 3 * ((y - TOP_MM) // HEIGHT_MM)).astype(int) + 1)


def words_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_a_code_holds_serial_and_record_in_a_form_of_its_own():
    assert code_text(Label("inv-0001", "U01", "Hall", NUMBER)) == (
        "WALKDOWN 1 serial=inv-0001 record=WD-S1F8A03C2"
    )


def test_what_would_break_the_form_is_percent_encoded():
    said = code_text(Label("a b=ü%\n", "U01", "Hall", "r/1"))
    assert said == "WALKDOWN 1 serial=a%20b%3D%C3%BC%25%0A record=r%2F1"


def test_half_a_character_of_a_hostile_unit_is_encoded_not_refused():
    assert code_text(Label("a\ud800", "U", "R", "n")) == "WALKDOWN 1 serial=a%ED%A0%80 record=n"


def test_a_sheet_says_every_label_in_words(tmp_path):
    label_sheet(some(30), tmp_path / "labels.pdf", note="DEMO: an invented house")
    pdf = (tmp_path / "labels.pdf").read_bytes()
    said = words_of(pdf)
    assert all(one.serial in said and one.label in said for one in some(30))
    assert said.count(NUMBER) == said.count("DEMO: an invented house") == 30
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    assert [tuple(round(float(side) / 72 * 25.4) for side in page.mediabox[2:]) for page in pages] == [
        (210, 297),
        (210, 297),
    ]  # fmt: skip


def test_a_begun_sheet_is_used_up_and_the_next_begins_at_its_first_place():
    first, second = rendered(some(4), "png", start_at=PER_SHEET - 1)
    assert places_used(first) == {PER_SHEET - 1, PER_SHEET}
    assert places_used(second) == {1, 2}


def test_a_full_sheet_is_one_page():
    (only,) = rendered(some(PER_SHEET), "png")
    assert places_used(only) == set(range(1, PER_SHEET + 1))


def test_nothing_reaches_beyond_its_label_whatever_it_is_called():
    long = "W" * 500
    labels = [
        Label("S" * 200, long, long, "N" * 60),
        Label("inv-1", "U01", "نادية " * 40, NUMBER),
        Label("inv-2", "\u202eU02\n\n\n\n\n", "l\u0301" * 200, NUMBER),
    ]
    x, y = ink_mm(rendered(labels * 3, "png", note=long)[0])
    inside_x, inside_y = x % WIDTH_MM, (y - TOP_MM) % HEIGHT_MM
    assert inside_x.min() > 3.9
    assert inside_x.max() < WIDTH_MM - 3.9
    assert inside_y.min() > 3
    assert inside_y.max() < HEIGHT_MM - 3


def test_a_name_that_is_cut_shows_it():
    said = words_of(rendered([Label("inv-1", "U01", "Room " * 30, NUMBER)], "pdf")[0])
    assert "Room Room" in said
    assert "…" in said
    assert "…" not in words_of(rendered(some(1), "pdf")[0])


def test_cut_marks_are_drawn_when_asked_for():
    without, with_marks = rendered(some(1), "png"), rendered(some(1), "png", cut_marks=True)
    assert ink_mm(without[0])[0].min() > 3.9
    assert ink_mm(with_marks[0])[0].min() < 1


def test_markup_in_a_name_is_printed_as_it_stands():
    said = words_of(rendered([Label("inv-1", "#panic()", "*a* $x$ #image", NUMBER)], "pdf")[0])
    assert "#panic()" in said
    assert "*a* $x$ #image" in said


def test_letters_that_no_font_has_are_question_marks_and_the_code_holds_them():
    with shipped_fonts() as fonts:
        lettering = Lettering(fonts)
        assert lettering.printable("Küche Ж Ω ő") == "Küche Ж Ω ő"
        assert lettering.printable("غرفة שלום") == "غرفة שלום"
        assert lettering.printable("密 😀 a\u202eb\x00\ud800\n") == "? ? a?b???"
        assert lettering.printable("می\u200cخواهم") == "می\u200cخواهم"
        assert lettering.printable("u\u0308") == "ü"
        assert len(lettering.printable("a" * 10_000)) == MOST_CHARS
    assert "%E5%AF%86" in code_text(Label("密", "U", "R", "n"))


@settings(max_examples=12)
@given(st.lists(st.text(max_size=40), min_size=3, max_size=3))
def test_no_text_of_a_plan_stops_the_labels(texts):
    label, room, serial = texts
    assert rendered([Label("s" + serial, label, room, NUMBER)], "pdf", note=room)


def test_the_same_labels_are_the_same_file_at_any_time(monkeypatch):
    first = rendered(some(2), "pdf")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(int(time.time()) + 90_000))
    assert rendered(some(2), "pdf") == first


@pytest.mark.parametrize("place", [0, -1, PER_SHEET + 1])
def test_a_place_that_no_sheet_has_is_refused(tmp_path, place):
    with pytest.raises(PlanError, match=f"no place {place}"):
        label_sheet(some(1), tmp_path / "labels.pdf", start_at=place)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ([], "no unit with a serial"),
        ([Label("", "U01", "Hall", NUMBER)], "serial of U01 is empty"),
        ([Label("x" * 600, "U01", "Hall", NUMBER)], "too long for the code"),
    ],
)
def test_what_makes_no_label_is_refused(tmp_path, labels, said):
    with pytest.raises(PlanError, match=said):
        label_sheet(labels, tmp_path / "labels.pdf")
    assert list(tmp_path.iterdir()) == []


def test_no_file_is_written_over(tmp_path):
    path = tmp_path / "plan.json"
    path.write_text("{}", encoding="utf-8")
    with pytest.raises(RecordError, match="there already"):
        label_sheet(some(1), path)
    assert path.read_text(encoding="utf-8") == "{}"


def test_where_the_disk_refuses_that_is_said(tmp_path):
    with pytest.raises(RecordError, match="can't be written"):
        label_sheet(some(1), tmp_path / "no such folder" / "labels.pdf")


def test_a_layout_that_fails_is_said(monkeypatch, tmp_path):
    monkeypatch.setattr(labels_module, "resources", lambda: tmp_path)
    (tmp_path / "record").mkdir()
    for layout in ("#panic()", '#set text(font: "no such font")\nA'):
        (tmp_path / "record" / "labels.typ").write_text(layout, encoding="utf-8")
        with pytest.raises(RecordError, match="can't be laid out"):
            label_sheet(some(1), tmp_path / "labels.pdf")


def test_a_sites_number_is_its_own_and_stays(tmp_path):
    with open_inventory(tmp_path / "one", CountingClock()) as inventory:
        inventory.add_site(small_plan("First Lodge"))
        before = site_number(inventory.journal(), "First Lodge")
        inventory.add_site(small_plan("Second Lodge"))
        inventory.append("counted", "First Lodge", {})
        rows = inventory.journal()
        assert site_number(rows, "First Lodge") == before
        assert site_number(rows, "Second Lodge") != before
    with open_inventory(tmp_path / "two", CountingClock(seconds=9)) as other:
        other.add_site(small_plan("First Lodge"))
        assert site_number(other.journal(), "First Lodge") != before
    assert before.startswith("WD-S")
    assert len(before) == 12


def test_a_site_that_the_journal_does_not_know_has_no_number():
    with pytest.raises(RecordError, match="doesn't tell when it was added"):
        site_number((), "First Lodge")
