"""A shelf that is looked through, and the last word on the key that signed it."""

import pytest

from fleet.engine.shelf_keys import key_words, look_at, not_trusted, say_of_key
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.shelf.trust import KEY_DISTRUSTED, KEY_TRUSTED
from tests.inventories import CountingClock
from tests.shelves import IMAGE, OLDER, shelf_of, signed_shelf

WORDS = {"by": "A. Fitter", "why": "compared by phone"}


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        yield opened


def test_a_shelf_of_an_unknown_key_tells_the_key_and_nothing_else(tmp_path, inventory):
    path, key = signed_shelf(tmp_path, IMAGE)
    look, shelf = look_at(path, key_words(inventory))
    assert (look.fingerprint, look.word, look.images, look.trusted) == (key, None, (), False)
    assert shelf is None
    assert key in str(not_trusted(look))


def test_a_key_that_is_trusted_opens_its_shelf(tmp_path, inventory):
    path, key = signed_shelf(tmp_path, OLDER, IMAGE)
    word = say_of_key(inventory, key.replace(" ", "").upper(), trusted=True, **WORDS)
    look, shelf = look_at(path, key_words(inventory))
    assert look.word == word
    assert [line.image for line in look.images] == [OLDER, IMAGE]
    assert all(line.trusted and line.fingerprint == key for line in look.images)
    assert shelf.images == (OLDER, IMAGE)
    (row,) = inventory.journal_of(KEY_TRUSTED)
    assert (row.subject, row.detail) == (key, WORDS)


def test_the_last_word_on_a_key_counts(tmp_path, inventory):
    path, key = signed_shelf(tmp_path, IMAGE)
    say_of_key(inventory, key, trusted=True, **WORDS)
    say_of_key(inventory, key, trusted=False, by="A. Fitter", why="the stick was stolen")
    look, shelf = look_at(path, key_words(inventory))
    assert (look.trusted, look.word.why, look.images, shelf) == (
        False, "the stick was stolen", (), None,
    )  # fmt: skip
    assert [row.subject for row in inventory.journal_of(KEY_DISTRUSTED)] == [key]


def test_an_image_that_is_not_what_was_signed_is_offered_as_such(tmp_path, inventory):
    path, key = signed_shelf(tmp_path, OLDER, IMAGE)
    say_of_key(inventory, key, trusted=True, **WORDS)
    (path / IMAGE.file).write_bytes(b"other octets")
    look, _ = look_at(path, key_words(inventory))
    assert [line.trusted for line in look.images] == [True, False]
    assert "cut off" in look.images[1].said


def test_a_shelf_that_nobody_signed_is_none(tmp_path, inventory):
    with pytest.raises(PlanError, match="isn't signed"):
        look_at(shelf_of(tmp_path, IMAGE), key_words(inventory))


@pytest.mark.parametrize(
    ("fingerprint", "by", "why", "said"),
    [
        ("ab12", "A", "because", "64 hexadecimal digits"),
        ("ab12" * 16, " ", "because", "has to be said"),
        ("ab12" * 16, "A", " ", "has to be said"),
    ],
)
def test_a_word_wants_a_fingerprint_a_name_and_a_reason(inventory, fingerprint, by, why, said):
    with pytest.raises(PlanError, match=said):
        say_of_key(inventory, fingerprint, trusted=True, by=by, why=why)
    assert key_words(inventory) == {}
