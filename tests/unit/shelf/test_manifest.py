from dataclasses import replace

import pytest

from fleet.model.errors import PlanError
from fleet.shelf.manifest import (
    MOST_IMAGES,
    complaints_about,
    images_from,
    manifest_bytes,
    printable,
)
from tests.shelves import IMAGE, OLDER, OLDEST, image


def test_a_manifest_is_read_as_it_was_written_and_keeps_its_order():
    raw = manifest_bytes((IMAGE, OLDEST, OLDER), subject="shelf")
    assert images_from(raw, subject="shelf") == (IMAGE, OLDEST, OLDER)
    assert raw.startswith(b'{"format":"walkdown.shelf.1","images":[{"build_id":"b-213",')
    assert raw.count(b"support_ends") == 2  # left out where the maker doesn't say


def test_an_empty_shelf_is_one():
    assert images_from(manifest_bytes((), subject="shelf"), subject="shelf") == ()


def test_an_odd_version_stands_as_it_is_written():
    odd = image(version="v2.1 (R7b)")
    raw = manifest_bytes((odd,), subject="shelf")
    assert images_from(raw, subject="shelf")[0].version == "v2.1 (R7b)"


def test_every_pair_that_lays_claim_to_one_thing_is_told_once():
    twice = replace(IMAGE, build_id="again")
    other_file = replace(OLDER, file=IMAGE.file)
    assert list(complaints_about((OLDEST, IMAGE, twice, other_file))) == [
        "2.1.3 and 2.1.3 both lay claim to the file image-30.bin",
        "2.1.3 and 2.0.4 both lay claim to the file image-30.bin",
    ]


def test_images_for_other_units_may_share_version_and_sequence():
    other = image(sequence=31, hardware_revisions=("R9",))
    same_words = replace(other, version=IMAGE.version, sequence=IMAGE.sequence)
    assert list(complaints_about((IMAGE, same_words))) == []


def test_as_many_images_as_allowed_are_written_and_one_more_is_not():
    many = [image(version=f"1.{number}.0", sequence=number) for number in range(MOST_IMAGES)]
    assert len(images_from(manifest_bytes(many, subject="shelf"), subject="shelf")) == MOST_IMAGES
    with pytest.raises(PlanError, match="more than 1,000 images"):
        manifest_bytes((*many, image(version="2.0.0", sequence=MOST_IMAGES)), subject="shelf")


def test_what_moves_a_cursor_or_fills_a_screen_is_taken_out_of_a_text():
    assert printable("a\x1b[2J\u202eb\n") == "a?[2J?b?"
    assert printable("x" * 500) == "x" * 200 + " …"
