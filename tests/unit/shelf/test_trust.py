from datetime import UTC, datetime

import pytest

from fleet.model.errors import PlanError
from fleet.model.journal import JournalRow
from fleet.shelf.trust import (
    KEY_DISTRUSTED,
    KEY_TRUSTED,
    fingerprint_from,
    trust_words,
    trusted_keys,
)
from fleet.signing.ed25519 import fingerprint
from tests.shelves import SIGNER

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
KEY = fingerprint(SIGNER.public_key())


def rows(*what, subject=KEY):
    return [
        JournalRow(number, NOON, word, subject, {"by": "Invented", "why": f"reason {number}"})
        for number, word in enumerate(what, start=1)
    ]


def test_nobody_is_trusted_without_a_word():
    assert trusted_keys([]) == frozenset()
    assert trusted_keys(rows("read", "sighted")) == frozenset()


def test_the_last_word_on_a_key_counts():
    assert trusted_keys(rows(KEY_TRUSTED)) == {KEY}
    assert trusted_keys(rows(KEY_TRUSTED, KEY_DISTRUSTED)) == frozenset()
    assert trusted_keys(rows(KEY_TRUSTED, KEY_DISTRUSTED, KEY_TRUSTED)) == {KEY}


def test_a_word_says_who_and_why():
    word = trust_words(rows(KEY_TRUSTED, KEY_DISTRUSTED))[KEY]
    assert (word.by, word.why, word.trusted, word.at) == ("Invented", "reason 2", False, NOON)


@pytest.mark.parametrize("spelt", [KEY, KEY.replace(" ", ""), KEY.upper(), KEY.replace(" ", ":")])
def test_a_fingerprint_is_read_as_people_write_it(spelt):
    assert fingerprint_from(spelt) == KEY


@pytest.mark.parametrize("text", ["", "abc", KEY[:-1], f"{KEY}0", "g" * 64])
def test_what_is_no_fingerprint_is_refused(text):
    with pytest.raises(PlanError, match="no fingerprint"):
        fingerprint_from(text)
