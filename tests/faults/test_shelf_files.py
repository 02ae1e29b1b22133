"""Shelves that were damaged or forged: refused with a sentence before anything could be sent from them.

Whoever forges here holds a key that is trusted, unless said otherwise, so that it is the later checks that
are tried.
"""

import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from fleet.model.errors import PlanError
from fleet.shelf.adding import add_image, sign_shelf
from fleet.shelf.checking import check_shelf
from fleet.shelf.files import read_plain
from fleet.shelf.manifest import KEY, LARGEST_MANIFEST_BYTES, MANIFEST, SIGNATURE
from fleet.shelf.opening import open_shelf
from fleet.signing.canonical import canonical_bytes
from fleet.signing.ed25519 import fingerprint, new_key, public_pem, sign
from tests.shelves import IMAGE, OLDER, SIGNER, octets_of, signed_shelf

NOTHING_USED = "Nothing of the shelf is used, and no unit was written to."


@pytest.fixture
def shelf(tmp_path):
    return signed_shelf(tmp_path, OLDER, IMAGE)


def document_of(path):
    return json.loads((path / MANIFEST).read_bytes())


def forge(path, raw):
    """Put any bytes in the manifest's place, signed as its maker would."""
    (path / MANIFEST).write_bytes(raw)
    (path / SIGNATURE).write_bytes(sign(SIGNER, raw))


def forged_members(path, **members):
    """Change members of the second image, in canonical form and signed."""
    document = document_of(path)
    document["images"][1] |= members
    forge(path, canonical_bytes(document))


def refused(shelf, said):
    path, key = shelf
    with pytest.raises(PlanError, match=said) as caught:
        open_shelf(path, {key})
    assert caught.value.stands == NOTHING_USED
    assert caught.value.next_step
    assert any(caught.value.what in finding for finding in check_shelf(path, {key}).findings)


def refused_image(shelf, said, image=IMAGE):
    path, key = shelf
    opened = open_shelf(path, {key})
    with pytest.raises(PlanError, match=said) as caught:
        opened.image_bytes(image)
    assert caught.value.stands == NOTHING_USED
    assert any(caught.value.what in finding for finding in check_shelf(path, {key}).findings)


# Manifests that are no manifests

NO_MANIFESTS = {
    "nothing": (b"", "no JSON"),
    "no JSON": (b"{", "no JSON"),
    "no UTF-8": (b'{"format": "\xff"}', "no JSON"),
    "a list": (b"[]", "it is no manifest"),
    "images that are no list": (b'{"images": 3}', "it is no manifest"),
    "nested deep": (b"[" * 100_000, "nested too deep"),
    "a number of thousands of digits": (b'{"images": [], "n": ' + b"9" * 10_000 + b"}", "no JSON"),
    "a member twice": (
        b'{"format": "walkdown.shelf.1", "images": [], "images": []}',
        "stands twice",
    ),
    "a fraction": (b'{"format": 1.0, "images": []}', "no whole number"),
    "no number": (b'{"format": NaN, "images": []}', "at format"),
    "another format": (b'{"format":"walkdown.shelf.2","images":[]}', "walkdown.shelf.1"),
    "a member more": (b'{"extra":1,"format":"walkdown.shelf.1","images":[]}', "extra"),
    "not canonical": (b'{"format": "walkdown.shelf.1", "images": []}', "canonical form"),
    "a line end more": (b'{"format":"walkdown.shelf.1","images":[]}\n', "canonical form"),
    "half a letter": (
        b'{"format":"walkdown.shelf.1","images":[],"\\ud800":1}',
        "at the whole file",
    ),
    "too large": (b" " * (LARGEST_MANIFEST_BYTES + 1), "larger than 4 MiB"),
}


@pytest.mark.parametrize(("raw", "said"), NO_MANIFESTS.values(), ids=NO_MANIFESTS)
def test_what_is_no_manifest_is_refused_though_it_is_signed(shelf, raw, said):
    forge(shelf[0], raw)
    refused(shelf, said)


# Images that no manifest may name

NO_IMAGES = {
    "climbs out": ({"file": "../../etc/passwd"}, "isn't allowed; it is to be: a bare name"),
    "climbs out the other way": ({"file": "..\\boot.bin"}, "a bare name"),
    "an absolute path": ({"file": "/etc/passwd"}, "a bare name"),
    "a drive": ({"file": "C:boot.bin"}, "a bare name"),
    "the folder above": ({"file": ".."}, "a bare name"),
    "a NUL": ({"file": "a\0.bin"}, "a bare name"),
    "a line end after the name": ({"file": "image-30.bin\n"}, "a bare name"),
    "a name of thousands of letters": ({"file": "a" * 5_000}, "a bare name"),
    "the manifest itself": ({"file": "shelf.json"}, "the shelf's own"),
    "the signature in capitals": ({"file": "SHELF.SIG"}, "the shelf's own"),
    "two GiB": ({"size_bytes": 2 << 30}, "greater than the maximum of 67108864"),
    "no bytes": ({"size_bytes": 0}, "less than the minimum of 1"),
    "less than none": ({"size_bytes": -1}, "less than the minimum"),
    "a digest too short": ({"sha256": "ab"}, "64 hexadecimal digits"),
    "a digest in capitals": ({"sha256": "A" * 64}, "64 hexadecimal digits"),
    "no board": ({"hardware_revisions": []}, "hardware_revisions"),
    "a module that nobody knows": ({"module_types": ["radio"]}, "'radio' is not one of"),
    "a word for a number": ({"sequence": "30"}, "is not of type 'integer'"),
    "true for a number": ({"sequence": True}, "is not of type 'integer'"),
    "a day that isn't there": ({"support_ends": "2026-02-31"}, "names what isn't there"),
    "a line in a note": ({"notes": "x\r\nwalkdown: all is well"}, "on one line"),
    "a cursor moved in a version": ({"version": "2.1.3\x1b[2J"}, "printable"),
    "a member that nobody knows": ({"run": "me"}, "'run' was unexpected"),
    "one file twice": ({"file": OLDER.file}, "both lay claim to the file"),
    "one file in capitals": ({"file": OLDER.file.upper()}, "both lay claim to the file"),
    "one digest twice": ({"sha256": OLDER.sha256}, "both lay claim to one digest"),
    "one sequence twice": ({"sequence": OLDER.sequence}, "both lay claim to the sequence 20"),
    "one version twice": ({"version": OLDER.version}, "both lay claim to the version 2.0.4"),
}


@pytest.mark.parametrize(("members", "said"), NO_IMAGES.values(), ids=NO_IMAGES)
def test_what_no_manifest_may_name_is_refused_though_it_is_signed(shelf, members, said):
    forged_members(shelf[0], **members)
    refused(shelf, said)


def test_half_a_letter_in_a_note_is_refused(shelf):
    path, _ = shelf
    forge(path, (path / MANIFEST).read_bytes().replace(b"Invented for", rb"\ud800"))
    refused(shelf, r"manifest\.images\[0\]\.notes holds half a character")


def test_ten_thousand_images_are_refused(shelf):
    document = document_of(shelf[0])
    document["images"] = [{"file": f"{number}.bin"} for number in range(10_000)]
    forge(shelf[0], canonical_bytes(document))
    refused(shelf, "more than 1,000 images")


def test_images_of_one_sequence_for_other_units_are_no_duplicates(shelf):
    path, key = shelf
    forged_members(path, sequence=OLDER.sequence, hardware_revisions=["R9"])
    assert open_shelf(path, {key}).images[1].sequence == OLDER.sequence


# Signatures


def test_a_manifest_changed_by_one_letter_is_refused(shelf):
    path, _ = shelf
    raw = (path / MANIFEST).read_bytes()
    (path / MANIFEST).write_bytes(raw.replace(b"2.1.3", b"2.1.4"))
    refused(shelf, "not the signature")


@pytest.mark.parametrize("length", [0, 63, 65])
def test_a_signature_of_another_length_is_refused(shelf, length):
    path, _ = shelf
    raw = (path / SIGNATURE).read_bytes()
    (path / SIGNATURE).write_bytes((raw + b"\0")[:length])
    refused(shelf, "not the signature")


@pytest.mark.parametrize("name", [SIGNATURE, KEY])
def test_a_shelf_without_signature_or_key_is_refused(shelf, name):
    (shelf[0] / name).unlink()
    refused(shelf, "isn't signed")


def test_a_key_in_the_place_of_the_trusted_one_is_refused(shelf):
    (shelf[0] / KEY).write_bytes(public_pem(new_key().public_key()))
    refused(shelf, "not the signature")


@pytest.mark.parametrize("pem", [b"", b"-----BEGIN PUBLIC KEY-----\n", b"\0" * 9_000])
def test_a_key_that_is_none_is_refused(shelf, pem):
    (shelf[0] / KEY).write_bytes(pem)
    refused(shelf, "no public key of the kind Ed25519")


def test_a_forger_who_signs_with_their_own_key_is_refused_before_the_manifest_is_read(shelf):
    path, key = shelf
    forger = new_key()
    (path / MANIFEST).write_bytes(b"[" * 100_000)
    (path / KEY).write_bytes(public_pem(forger.public_key()))
    (path / SIGNATURE).write_bytes(sign(forger, b"[" * 100_000))
    with pytest.raises(PlanError, match="nobody here trusts") as caught:
        open_shelf(path, {key})
    assert fingerprint(forger.public_key()) in str(caught.value)


# Images that aren't what was signed


def test_a_truncated_image_is_refused(shelf):
    (shelf[0] / IMAGE.file).write_bytes(octets_of(IMAGE)[:-1])
    refused_image(shelf, f"it is cut off: {IMAGE.size_bytes - 1} of {IMAGE.size_bytes} bytes")


def test_a_longer_image_is_refused_without_being_read_to_its_end(shelf):
    with (shelf[0] / IMAGE.file).open("r+b") as file:
        file.truncate(2 << 30)  # a hole: two GiB that need no room on the disk
    refused_image(shelf, f"it is longer than the {IMAGE.size_bytes} bytes")


def test_a_changed_image_of_the_same_size_is_refused(shelf):
    octets = bytearray(octets_of(IMAGE))
    octets[-1] ^= 1
    (shelf[0] / IMAGE.file).write_bytes(octets)
    refused_image(shelf, "not the image that was signed as 2.1.3")


def test_an_image_in_the_place_of_another_is_refused(shelf):
    (shelf[0] / IMAGE.file).write_bytes(octets_of(OLDER))
    refused_image(shelf, "not the image that was signed")


def test_a_missing_image_is_refused(shelf):
    (shelf[0] / IMAGE.file).unlink()
    refused_image(shelf, "the file of 2.1.3 is missing")


def test_an_image_exchanged_after_the_check_is_refused(shelf):
    path, key = shelf
    opened = open_shelf(path, {key})
    assert opened.image_bytes(IMAGE) == octets_of(IMAGE)
    octets = octets_of(IMAGE)[::-1]
    (path / IMAGE.file).write_bytes(octets)
    with pytest.raises(PlanError, match="exchanged after it was checked"):
        opened.image_bytes(IMAGE)


def test_a_manifest_exchanged_after_the_check_lends_no_image_its_place(shelf):
    path, key = shelf
    opened = open_shelf(path, {key})
    other = b"another image"
    (path / IMAGE.file).write_bytes(other)
    forged_members(path, sha256=hashlib.sha256(other).hexdigest(), size_bytes=len(other))
    with pytest.raises(PlanError, match="it is cut off"):
        opened.image_bytes(IMAGE)


def test_bytes_in_use_stay_what_they_were_whatever_happens_to_the_file(shelf):
    path, key = shelf
    opened = open_shelf(path, {key})
    held = opened.image_bytes(IMAGE)
    with (path / IMAGE.file).open("r+b") as file:
        file.write(b"\0" * IMAGE.size_bytes)
    assert held == octets_of(IMAGE)


def test_a_stick_that_is_pulled_out_after_the_check_is_no_exchange(shelf):
    path, key = shelf
    opened = open_shelf(path, {key})
    opened.image_bytes(IMAGE)
    path.rename(path.with_name("pulled-out"))
    assert opened.image_bytes(IMAGE) == octets_of(IMAGE)
    with pytest.raises(PlanError, match="is missing"):
        opened.image_bytes(OLDER)


# Files that aren't plain files of the shelf


def test_an_image_that_is_a_link_is_refused_even_to_the_right_bytes(shelf, tmp_path):
    path, _ = shelf
    elsewhere = tmp_path / "elsewhere.bin"
    (path / IMAGE.file).rename(elsewhere)
    (path / IMAGE.file).symlink_to(elsewhere)
    refused_image(shelf, "no plain file but a link")


def test_a_link_in_the_place_of_an_image_that_was_checked_is_refused(shelf, tmp_path):
    path, key = shelf
    opened = open_shelf(path, {key})
    opened.image_bytes(IMAGE)
    (path / IMAGE.file).rename(tmp_path / "elsewhere.bin")
    (path / IMAGE.file).symlink_to(tmp_path / "elsewhere.bin")
    with pytest.raises(PlanError, match="no plain file but a link"):
        opened.image_bytes(IMAGE)


@pytest.mark.parametrize("name", [MANIFEST, SIGNATURE, KEY])
def test_the_shelfs_own_files_are_no_links(shelf, tmp_path, name):
    path, key = shelf
    (path / name).rename(tmp_path / "elsewhere")
    (path / name).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(PlanError, match="no plain file but a link"):
        open_shelf(path, {key})


def test_a_pipe_and_a_folder_in_the_place_of_an_image_hold_nobody_up(shelf):
    path, _ = shelf
    (path / IMAGE.file).unlink()
    os.mkfifo(path / IMAGE.file)
    refused_image(shelf, "no plain file")
    (path / OLDER.file).unlink()
    (path / OLDER.file).mkdir()
    refused_image(shelf, "no plain file", OLDER)


def test_a_file_exchanged_while_it_is_opened_is_refused(shelf, monkeypatch):
    path, _ = shelf
    other = path / "other.bin"
    other.write_bytes(b"x")
    opening = os.open
    monkeypatch.setattr(os, "open", lambda _, flags: opening(other, flags))
    with pytest.raises(PlanError, match="exchanged while it was opened"):
        read_plain(path, IMAGE.file, 10)


@pytest.mark.parametrize("name", ["../x", "a/b", "", ".hidden", "a\n", "x" * 300])
def test_only_bare_names_are_read(shelf, name):
    with pytest.raises(PlanError, match="no plain name"):
        read_plain(shelf[0], name, 10)


def test_a_file_that_cant_be_read_says_why(shelf, monkeypatch):
    def broken(name, flags):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "open", broken)
    with pytest.raises(PlanError, match="can't be read: Input/output error"):
        read_plain(shelf[0], MANIFEST, 10)


def test_everything_that_is_wrong_is_told_at_once(shelf):
    path, _ = shelf
    (path / IMAGE.file).unlink()
    (path / OLDER.file).write_bytes(b"")
    findings = check_shelf(path, set()).findings
    assert len(findings) == 3
    assert ["nobody here trusts" in finding for finding in findings] == [True, False, False]


def test_what_a_forged_manifest_says_moves_no_cursor(shelf):
    path, key = shelf
    forged_members(path, file="\x1b[2J\u202e" + "x" * 900)
    finding = check_shelf(path, {key}).findings[0]
    assert finding.isprintable()
    assert len(finding) < 500


def test_an_image_of_another_manifest_is_not_taken_for_ones_own(shelf):
    path, key = shelf
    with pytest.raises(PlanError, match="no image of this shelf"):
        open_shelf(path, {key}).image_bytes(replace(IMAGE, sha256=OLDER.sha256))


# Sticks that are full or fail while they are written to


def failing_at(monkeypatch, nth):
    """Have the nth call that forces bytes to the disk fail as a full stick does."""
    calls = iter(range(nth + 1))
    force = os.fsync

    def full(descriptor):
        if next(calls) == nth:
            raise OSError(28, "No space left on device")
        force(descriptor)

    monkeypatch.setattr(os, "fsync", full)


@pytest.mark.parametrize("nth", [0, 1])
def test_a_stick_that_is_full_while_an_image_is_added_is_never_signed_for_it(
    shelf, tmp_path, monkeypatch, nth
):
    path, key = shelf
    (tmp_path / "more.bin").write_bytes(b"more")
    failing_at(monkeypatch, nth)
    with pytest.raises(PlanError, match="No space left") as caught:
        add_image(path, tmp_path / "more.bin", replace(IMAGE, version="3.0.0", sequence=99))
    assert caught.value.stands == "The manifest is as it was."
    assert len(document_of(path)["images"]) == 2
    assert not list(path.glob(".half-*"))
    signed = (path / SIGNATURE).exists()
    assert signed == (nth == 0)
    assert (not signed) == any("isn't signed" in said for said in check_shelf(path, {key}).findings)


@pytest.mark.parametrize("nth", [0, 1])
def test_a_stick_that_is_full_while_it_is_signed_is_left_unsigned(shelf, monkeypatch, nth):
    path, _ = shelf
    failing_at(monkeypatch, nth)
    with pytest.raises(PlanError, match="No space left"):
        sign_shelf(path, new_key())
    assert not (path / SIGNATURE).exists()


def test_a_stick_with_write_protection_is_said_to_be_so(shelf, monkeypatch):
    def protected(self, *words, **named):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Path, "unlink", protected)
    with pytest.raises(PlanError, match="Read-only file system"):
        sign_shelf(shelf[0], SIGNER)
    monkeypatch.setattr(Path, "mkdir", protected)
    source = shelf[0].parent / "sources" / IMAGE.file
    with pytest.raises(PlanError, match="Read-only file system"):
        add_image(shelf[0].parent / "new", source, IMAGE)
