"""A record on disk: its files, its pages, and who can check it."""

import dataclasses
import json
import shutil
import subprocess
import time

import pypdf
import pytest

from fleet.model.errors import RecordError
from fleet.record import layout
from fleet.record.attachments import attached_file
from fleet.record.checking import check
from fleet.record.issuing import issue
from fleet.signing.ed25519 import new_key
from tests.unit.record.small_house import SIGNATURE, SVGS, small_house
from tests.unit.record.test_content import document

FILES = ["key.pem", "record.json", "record.pdf", "record.sig", "units.csv"]


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    folder = tmp_path_factory.mktemp("issued") / "record"
    issue(folder, document(), SVGS, new_key())
    return folder


def pages(folder):
    """Return the text of each page, its line breaks as spaces."""
    reader = pypdf.PdfReader(folder / "record.pdf")
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_a_record_has_its_five_files_and_checks(record):
    assert sorted(path.name for path in record.iterdir()) == FILES
    assert check(record).ok
    assert len((record / "record.sig").read_bytes()) == 64


def test_the_check_says_that_a_key_beside_the_record_names_nobody(record):
    key = next(part for part in check(record).parts if part.name == "key.pem")

    assert "not who signed" in key.reason


def test_openssl_accepts_the_signature_and_refuses_it_after_one_digit(record, tmp_path):
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("the program openssl is not installed")
    copy = shutil.copytree(record, tmp_path / "copy")
    verify = [
        openssl, "pkeyutl", "-verify", "-pubin", "-inkey", "key.pem", "-rawin", "-in", "record.json",
        "-sigfile", "record.sig",
    ]  # fmt: skip
    assert subprocess.run(verify, cwd=copy, capture_output=True, check=False).returncode == 0

    path = copy / "record.json"
    path.write_bytes(path.read_bytes().replace(b":6000", b":6001", 1))

    assert subprocess.run(verify, cwd=copy, capture_output=True, check=False).returncode != 0


def test_another_reader_of_pdf_finds_the_same_attachment(record):
    reader = pypdf.PdfReader(record / "record.pdf")
    signed = (record / "record.json").read_bytes()

    assert reader.attachments == {"record.json": [signed]}
    assert attached_file((record / "record.pdf").read_bytes(), 10**6) == signed


def test_every_page_of_a_demo_says_so_with_the_speed_of_its_clock(record):
    for page in pages(record):
        assert "DEMO" in page
        assert "20 times" in page


def test_no_page_of_a_real_house_says_demo(tmp_path):
    issue(tmp_path / "r", document(small_house(demo=False), speed=1.0), SVGS, new_key())

    assert not any("DEMO" in page for page in pages(tmp_path / "r"))


def test_the_pages_are_a_cover_one_a_room_a_register_and_how_to_check(record):
    cover, bedroom, study, store, register, last = pages(record)

    assert "Cautions" in cover
    assert "Accepted by A. Invented, client" in bedroom
    assert "with 1 exception" in bedroom
    assert "Accepted as an exception: the house is lived in; soak follows" in bedroom
    assert "Not accepted" in study
    assert "planned, never read" in store
    assert "as left: 90" in register
    assert "openssl pkeyutl -verify" in last
    assert "that was not validated" in last


def test_an_exception_to_an_item_that_is_no_longer_asked_is_printed_too(tmp_path):
    house = small_house()
    signature = dataclasses.replace(SIGNATURE, exceptions={"older-item": "said at the time"})
    house = dataclasses.replace(house, signatures={"bedroom": signature})
    issue(tmp_path / "r", document(house), SVGS, new_key())

    assert "older-item: said at the time" in pages(tmp_path / "r")[1]


def test_each_state_of_an_item_has_its_own_word(record):
    bedroom = pages(record)[1]

    for word in ("shown", "wrong", "inconclusive", "not tested", "to do"):
        assert word in bedroom


def test_the_pages_are_tagged_and_declare_what_they_are_written_as(record):
    root = pypdf.PdfReader(record / "record.pdf").trailer["/Root"]
    metadata = root["/Metadata"].get_object().get_data()

    assert root["/MarkInfo"]["/Marked"]
    assert b"pdfaid:part>3<" in metadata
    assert b"pdfuaid:part>1<" in metadata


def test_text_of_a_plan_is_printed_and_never_run_as_markup(tmp_path):
    name = '#panic("x") *b* $x$ ] } \\ "q" <l> @r'
    issue(tmp_path / "r", document(small_house(bedroom=name)), SVGS, new_key())

    assert name in pages(tmp_path / "r")[1]


def test_letters_outside_the_font_are_replaced_in_print_and_kept_in_the_record(tmp_path):
    issue(tmp_path / "r", document(small_house(bedroom="寝室 Łódź")), SVGS, new_key())

    cover, bedroom, *_ = pages(tmp_path / "r")
    assert "?? Łódź" in bedroom
    assert "stand here as" in cover
    said = json.loads((tmp_path / "r" / "record.json").read_bytes())
    assert said["rooms"][0]["name"] == "寝室 Łódź"
    assert check(tmp_path / "r").ok


def test_one_state_always_makes_the_same_record(tmp_path):
    key = new_key()
    first = issue(tmp_path / "a", document(), SVGS, key)
    second = issue(tmp_path / "b", document(), SVGS, key)

    assert first.digest == second.digest
    for name in FILES:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_an_empty_folder_is_taken_and_a_full_one_refused(tmp_path):
    (tmp_path / "r").mkdir()
    issue(tmp_path / "r", document(), SVGS, new_key())
    before = (tmp_path / "r" / "record.json").read_bytes()

    with pytest.raises(RecordError, match="not an empty folder"):
        issue(tmp_path / "r", document(speed=10.0), SVGS, new_key())
    assert (tmp_path / "r" / "record.json").read_bytes() == before


def test_a_record_that_cannot_be_laid_out_leaves_nothing(tmp_path):
    with pytest.raises(RecordError, match="can't be laid out"):
        issue(tmp_path / "r", document(), {"bedroom": "no drawing"}, new_key())

    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("taken", encoding="utf-8")

    with pytest.raises(RecordError, match="can't be"):
        issue(tmp_path / "file" / "r", document(), SVGS, new_key())


def test_what_typst_warns_of_is_an_error(monkeypatch):
    monkeypatch.setattr(layout, "_SANS", ())

    with pytest.raises(RecordError, match="unknown font family"):
        layout.render_pdf(document(), SVGS, b"{}", "ab")


def test_a_house_without_rooms_or_units_can_be_handed_over(tmp_path):
    house = small_house()
    bare = dataclasses.replace(
        house,
        plan=dataclasses.replace(house.plan, rooms=(), units=(), floors=()),
        units={}, findings=(), rooms={}, signatures={},
    )  # fmt: skip
    issue(tmp_path / "r", document(bare), {}, new_key())

    assert check(tmp_path / "r").ok


def test_a_record_is_laid_out_in_less_than_a_second_of_processor_time(tmp_path):
    started = time.process_time()
    issue(tmp_path / "r", document(), SVGS, new_key())

    assert time.process_time() - started < 1
