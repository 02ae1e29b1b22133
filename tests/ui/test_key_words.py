"""Whose shelves are trusted, in words."""

from dataclasses import replace
from pathlib import Path

from fleet.engine.shelf_keys import ShelfLook
from fleet.model.snapshot import ItemState
from tests.ui.invented_updates import KEY, TRUSTED_KEY
from ui.presenters.key_words import key_rows, shelf_said


def look_with(word):
    return ShelfLook(Path("/media/stick/shelf"), KEY, word)


def test_a_shelf_says_whose_word_lets_it_be_used_or_what_is_to_be_compared():
    nobody = shelf_said(look_with(None))
    assert nobody.state is ItemState.LOOK
    assert "read its fingerprint out by phone" in nobody.text
    trusted = shelf_said(look_with(TRUSTED_KEY))
    assert trusted.state is ItemState.SHOWN
    assert trusted.text.endswith("A. Fitter, 03 Sep 2026: compared with its maker by phone.")
    withdrawn = shelf_said(look_with(replace(TRUSTED_KEY, trusted=False, why="stick stolen")))
    assert withdrawn.state is ItemState.WRONG
    assert "was withdrawn: A. Fitter, 03 Sep 2026: stick stolen. Nothing" in withdrawn.text


def test_each_key_that_was_spoken_of_has_a_row():
    other = replace(TRUSTED_KEY, fingerprint="00ff " * 15 + "00ff", trusted=False, by="", why="")
    rows = key_rows((TRUSTED_KEY, other))
    assert [row.trusted for row in rows] == [True, False]
    assert rows[0].text.startswith("9B02… trusted: A. Fitter, 03 Sep 2026")
    assert rows[1].text == ("00FF… withdrawn: Nobody named, 03 Sep 2026: no reason written down.")
