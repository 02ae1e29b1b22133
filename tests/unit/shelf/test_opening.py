import pytest

from fleet.model.errors import PlanError
from fleet.shelf.adding import sign_shelf
from fleet.shelf.opening import open_shelf
from fleet.signing.ed25519 import fingerprint, new_key
from tests.shelves import IMAGE, OLDER, OLDEST, SIGNER, image, octets_of, signed_shelf


def test_a_signed_and_trusted_shelf_gives_its_images(tmp_path):
    path, key = signed_shelf(tmp_path)
    shelf = open_shelf(path, {key})
    assert shelf.images == (OLDEST, OLDER, IMAGE)
    assert shelf.fingerprint == key == fingerprint(SIGNER.public_key())
    assert shelf.image_bytes(IMAGE) == octets_of(IMAGE)


def test_a_shelf_signed_by_somebody_unknown_is_refused_with_the_fingerprint(tmp_path):
    path, key = signed_shelf(tmp_path)
    with pytest.raises(PlanError, match="nobody here trusts") as caught:
        open_shelf(path, set())
    assert key in str(caught.value)
    assert "walkdown shelf trust" in caught.value.next_step


def test_trust_in_another_key_doesnt_open_a_shelf(tmp_path):
    path, _ = signed_shelf(tmp_path)
    with pytest.raises(PlanError, match="nobody here trusts"):
        open_shelf(path, {fingerprint(new_key().public_key())})


def test_a_shelf_signed_again_by_another_key_asks_for_trust_again(tmp_path):
    path, key = signed_shelf(tmp_path)
    sign_shelf(path, new_key())
    with pytest.raises(PlanError, match="nobody here trusts"):
        open_shelf(path, {key})


def test_only_images_of_the_shelf_are_read(tmp_path):
    path, key = signed_shelf(tmp_path, OLDER)
    with pytest.raises(PlanError, match="no image of this shelf"):
        open_shelf(path, {key}).image_bytes(IMAGE)


def test_an_image_is_found_by_version_hardware_and_module(tmp_path):
    other = image(version="2.1.3", sequence=31, hardware_revisions=("R9",), file="r9.bin")
    path, key = signed_shelf(tmp_path, IMAGE, other)
    shelf = open_shelf(path, {key})
    assert shelf.image_of("2.1.3", "R3", "static") == IMAGE
    assert shelf.image_of("2.1.3", "R9", "tracking") == other
    assert shelf.image_of("2.1.3", "R3", "vital-sign") is None
    assert shelf.image_of("2.1", "R3", "tracking") is None


def test_the_last_image_asked_for_is_held_and_the_one_before_is_read_again(tmp_path):
    path, key = signed_shelf(tmp_path)
    shelf = open_shelf(path, {key})
    held = shelf.image_bytes(IMAGE)
    assert shelf.image_bytes(IMAGE) is held
    shelf.image_bytes(OLDER)
    (path / IMAGE.file).unlink()
    with pytest.raises(PlanError, match="is missing"):
        shelf.image_bytes(IMAGE)


def test_a_folder_that_isnt_there_and_one_without_a_manifest_are_told_apart(tmp_path):
    with pytest.raises(PlanError, match="no such folder"):
        open_shelf(tmp_path / "gone", set())
    with pytest.raises(PlanError, match=r"no shelf\.json"):
        open_shelf(tmp_path, set())
