"""Records that were changed, cut off or forged: the check names the part and never breaks."""

import json
import os
import shutil

import pytest
from cryptography.hazmat.primitives.asymmetric.ed448 import Ed448PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from fleet.record.checking import check
from fleet.record.issuing import issue
from fleet.signing.canonical import canonical_bytes
from fleet.signing.ed25519 import new_key, public_pem, sign
from tests.unit.record.small_house import SVGS
from tests.unit.record.test_content import document

FILES = ("key.pem", "record.json", "record.pdf", "record.sig", "units.csv")


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    folder = tmp_path_factory.mktemp("issued")
    key = new_key()
    issue(folder / "record", document(), SVGS, key)
    issue(folder / "other", document(speed=10.0), SVGS, key)
    return folder


@pytest.fixture
def record(issued, tmp_path):
    return shutil.copytree(issued / "record", tmp_path / "record")


def wrong(folder):
    return {part.name for part in check(folder).parts if not part.ok}


def change(path, old, new):
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new, 1))


def rewrite(record, data):
    """Put other content into a record and sign it anew, as a forger with a key would."""
    key = new_key()
    (record / "record.json").write_bytes(data)
    (record / "record.sig").write_bytes(sign(key, data))
    (record / "key.pem").write_bytes(public_pem(key.public_key()))


def test_one_digit_of_the_record(record):
    change(record / "record.json", b'"setting.hold_time_s":60', b'"setting.hold_time_s":61')

    assert wrong(record) == {"record.sig", "record.pdf", "units.csv"}


def test_the_key_of_somebody_else(record):
    (record / "key.pem").write_bytes(public_pem(new_key().public_key()))

    assert wrong(record) == {"record.sig"}


def test_a_key_whose_text_was_changed(record):
    change(record / "key.pem", b"MCow", b"MCox")

    assert wrong(record) == {"key.pem", "record.sig"}


def test_the_pages_of_another_record(record, issued):
    shutil.copyfile(issued / "other" / "record.pdf", record / "record.pdf")

    assert wrong(record) == {"record.pdf"}


def test_an_attachment_that_was_damaged(record):
    pdf = bytearray((record / "record.pdf").read_bytes())
    start = pdf.index(b"stream", pdf.index(b"/EmbeddedFile"))
    pdf[start + 60 : start + 90] = bytes(30)
    (record / "record.pdf").write_bytes(pdf)

    assert wrong(record) == {"record.pdf"}


def test_a_second_attachment(record):
    with (record / "record.pdf").open("ab") as file:
        file.write(
            b"\n9 0 obj <</Type /EmbeddedFile /Filter /FlateDecode>>\nstream\nx\nendstream\n%%EOF"
        )

    assert wrong(record) == {"record.pdf"}


def test_an_attachment_cut_from_its_data(record):
    pdf = (record / "record.pdf").read_bytes()
    (record / "record.pdf").write_bytes(pdf[: pdf.index(b"/EmbeddedFile") + 500] + b"%%EOF")

    assert wrong(record) == {"record.pdf"}


def test_an_attachment_packed_in_another_way(record):
    (record / "record.pdf").write_bytes(b"<</Type /EmbeddedFile>>\nstream\n{}\nendstream\n%%EOF")

    assert wrong(record) == {"record.pdf"}


def test_a_key_of_another_kind(record):
    other = Ed448PrivateKey.generate().public_key()
    (record / "key.pem").write_bytes(
        other.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    )

    assert wrong(record) == {"key.pem", "record.sig"}


def test_one_cell_of_the_table(record):
    change(record / "units.csv", b"inv-0002", b"inv-0009")

    report = {part.name: part for part in check(record).parts}
    assert wrong(record) == {"units.csv"}
    assert report["units.csv"].reason.endswith("first in line 3")


def test_a_line_added_to_the_table(record):
    with (record / "units.csv").open("ab") as file:
        file.write(b"U99,inv-0099\r\n")

    assert wrong(record) == {"units.csv"}


def test_the_same_content_in_another_form_though_signed(record):
    said = json.loads((record / "record.json").read_bytes())
    rewrite(record, json.dumps(said, indent=1).encode())

    assert wrong(record) == {"canonical form", "record.pdf"}


def test_a_member_that_no_record_has_though_signed(record):
    said = json.loads((record / "record.json").read_bytes())
    rewrite(record, canonical_bytes({**said, "extra\u001b[2J": 1}))

    report = {part.name: part for part in check(record).parts}
    assert wrong(record) == {"schema", "record.pdf"}
    assert report["schema"].reason.isprintable()


@pytest.mark.parametrize(
    "data",
    [
        b"[]",
        b"{}",
        b"null",
        b"\xff\xfe",
        b'{"register":3}',
        b'{"register":[{"found":{"setting.a":"\\ud800"}}]}',
        b'{"a":1.5}',
        b'{"a":' + b"9" * 5000 + b"}",
        b'{"a":' * 500 + b"1" + b"}" * 500,
        b"[" * 200_000,
        b'{"register":[{"found":{"setting.a":' + b"[" * 900 + b"]" * 900 + b"}}]}",
    ],
    ids=[
        "list", "empty", "null", "bytes", "register", "half a character", "float", "long number",
        "deep", "deep and open", "deep cell",
    ],
)  # fmt: skip
def test_nonsense_that_was_signed_is_reported(record, data):
    rewrite(record, data)

    assert {"schema", "record.pdf", "units.csv"} <= wrong(record)


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_missing(record, name):
    (record / name).unlink()

    report = {part.name: part.reason for part in check(record).parts if not part.ok}
    assert any(reason == f"{name} is missing" for reason in report.values())


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("share", [0, 0.5, 0.99])
def test_a_file_that_is_cut_off(record, name, share):
    data = (record / name).read_bytes()
    (record / name).write_bytes(data[: int(len(data) * share)])

    assert wrong(record)


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_garbled(record, name):
    (record / name).write_bytes(bytes(range(256)) * 8)

    assert wrong(record)


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_huge_is_not_read(record, name):
    os.truncate(record / name, 3_000_000_000)

    report = {part.name: part.reason for part in check(record).parts if not part.ok}
    assert any(f"{name} is larger than" in reason for reason in report.values())


@pytest.mark.parametrize("name", FILES)
def test_a_folder_or_pipe_in_the_place_of_a_file(record, name):
    (record / name).unlink()
    os.mkfifo(record / name)

    assert wrong(record)


def test_a_pdf_made_to_keep_the_search_busy(record):
    (record / "record.pdf").write_bytes(b"<</Type /EmbeddedFile" * 100_000 + b"%%EOF")

    assert wrong(record) == {"record.pdf"}


def test_no_folder_at_all(tmp_path):
    assert not any(part.ok for part in check(tmp_path / "nowhere").parts)
