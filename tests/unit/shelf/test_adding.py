import hashlib
from dataclasses import replace

import pytest

from fleet.model.errors import PlanError
from fleet.shelf import adding
from fleet.shelf.adding import add_image, sign_shelf
from fleet.shelf.manifest import MANIFEST, SIGNATURE, images_from
from fleet.shelf.opening import open_shelf
from tests.shelves import IMAGE, OLDER, SIGNER, TOLD, octets_of, shelf_of, signed_shelf


@pytest.fixture
def source(tmp_path):
    path = tmp_path / "made.bin"
    path.write_bytes(b"made up")
    return path


def test_digest_size_and_name_are_taken_from_the_file(tmp_path, source):
    added = add_image(tmp_path / "shelf", source, TOLD)
    assert (added.size_bytes, added.file) == (7, "made.bin")
    assert added.sha256 == hashlib.sha256(b"made up").hexdigest()
    raw = (tmp_path / "shelf" / MANIFEST).read_bytes()
    assert images_from(raw, subject="shelf") == (added,)
    assert (tmp_path / "shelf" / "made.bin").read_bytes() == b"made up"


def test_adding_takes_the_signature_away(tmp_path):
    path, key = signed_shelf(tmp_path, OLDER)
    shelf_of(tmp_path, IMAGE)
    assert not (path / SIGNATURE).exists()
    with pytest.raises(PlanError, match="isn't signed"):
        open_shelf(path, {key})
    assert open_shelf(path, {sign_shelf(path, SIGNER)}).images == (OLDER, IMAGE)


def test_the_same_image_twice_is_refused_and_the_shelf_stays_signed(tmp_path, source):
    path, key = signed_shelf(tmp_path, IMAGE)
    source.write_bytes(octets_of(IMAGE))
    with pytest.raises(PlanError, match="both lay claim to one digest"):
        add_image(path, source, replace(IMAGE, version="9.9.9", sequence=99))
    assert open_shelf(path, {key}).images == (IMAGE,)
    assert not (path / "made.bin").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"vendor_id": "acme"}, "'acme' isn't allowed; it is to be: a UUID"),
        ({"sequence": -1}, "-1 is less than the minimum of 0"),
        ({"hardware_revisions": ()}, "images/0/hardware_revisions"),
        ({"module_types": ("radio",)}, "'radio' is not one of"),
        ({"notes": "one\ntwo"}, "on one line"),
        ({"version": " 1"}, "without a space at either end"),
    ],
)
def test_what_no_manifest_allows_is_told_and_nothing_is_written(tmp_path, source, change, said):
    with pytest.raises(PlanError) as caught:
        add_image(tmp_path / "shelf", source, replace(TOLD, **change))
    assert said in str(caught.value)
    assert caught.value.stands == "The shelf is as it was."
    assert not (tmp_path / "shelf").exists()


def test_another_file_of_that_name_is_never_written_over(tmp_path, source):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    (shelf / "made.bin").write_bytes(b"another")
    with pytest.raises(PlanError, match="nothing is written over"):
        add_image(shelf, source, TOLD)
    assert (shelf / "made.bin").read_bytes() == b"another"
    assert not (shelf / MANIFEST).exists()


def test_an_image_that_lies_on_the_shelf_already_is_taken_into_the_manifest(tmp_path, source):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    lying = source.rename(shelf / "made.bin")
    assert add_image(shelf, lying, TOLD).file == "made.bin"


@pytest.mark.parametrize("name", [MANIFEST, "Shelf.SIG", "shelf.pem"])
def test_an_image_doesnt_take_the_place_of_the_shelfs_own_files(tmp_path, source, name):
    named = source.rename(tmp_path / name)
    with pytest.raises(PlanError, match="the shelf's own"):
        add_image(tmp_path / "shelf", named, TOLD)


def test_an_odd_name_an_empty_and_a_missing_image_are_refused(tmp_path, source):
    with pytest.raises(PlanError, match="names of ASCII"):
        add_image(tmp_path / "shelf", source.rename(tmp_path / "ä ö.bin"), TOLD)
    (tmp_path / "empty.bin").touch()
    with pytest.raises(PlanError, match="it is empty"):
        add_image(tmp_path / "shelf", tmp_path / "empty.bin", TOLD)
    with pytest.raises(PlanError, match="can't be read: No such file"):
        add_image(tmp_path / "shelf", tmp_path / "gone.bin", TOLD)


def test_a_shelf_with_an_image_that_isnt_whole_isnt_signed(tmp_path):
    shelf = shelf_of(tmp_path, OLDER, IMAGE)
    (shelf / IMAGE.file).write_bytes(octets_of(IMAGE)[:-1])
    with pytest.raises(PlanError, match="it is cut off"):
        sign_shelf(shelf, SIGNER)
    assert not (shelf / SIGNATURE).exists()


def test_a_shelf_below_a_file_says_why_it_cant_be(tmp_path, source):
    with pytest.raises(PlanError, match="Not a directory"):
        add_image(source / "below", source, TOLD)


def test_a_full_stick_leaves_the_manifest_as_it_was(tmp_path, source, monkeypatch):
    path, key = signed_shelf(tmp_path, OLDER)

    def full(folder, name, data):
        raise adding.unwritten(folder, OSError(28, "No space left on device"))

    monkeypatch.setattr(adding, "write_whole", full)
    with pytest.raises(PlanError, match="No space left"):
        add_image(path, source, TOLD)
    assert open_shelf(path, {key}).images == (OLDER,)
