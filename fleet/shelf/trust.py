"""Whose shelves are trusted: a person's word on a key's fingerprint, with a reason, in the journal.

A key that lies beside what it signed proves nothing about who signed. So somebody says which key they
trust, after they got its fingerprint by another way; that word is a row of the inventory's journal,
which dates it, names who said it and can't be changed unseen. The last word on a key counts.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from fleet.model.errors import PlanError
from fleet.model.journal import JournalRow

KEY_TRUSTED, KEY_DISTRUSTED = "shelf-key-trusted", "shelf-key-distrusted"
_HEX = re.compile(r"[0-9a-f]{64}")
_GROUP = 4


@dataclass(frozen=True, slots=True)
class TrustWord:
    """What somebody said of a key.

    Attributes:
        fingerprint: of the key, hex in groups of four.
        trusted: whether its shelves are used.
        by, why: who said so, and for what reason.
        at: when.
    """

    fingerprint: str
    trusted: bool
    by: str
    why: str
    at: datetime


def trust_words(rows: Iterable[JournalRow]) -> dict[str, TrustWord]:
    """Return fingerprint → the last word on it, from rows of the journal, oldest first."""
    return {
        row.subject: TrustWord(
            row.subject,
            row.what == KEY_TRUSTED,
            str(row.detail.get("by", "")),
            str(row.detail.get("why", "")),
            row.at,
        )
        for row in rows
        if row.what in (KEY_TRUSTED, KEY_DISTRUSTED)
    }


def trusted_keys(rows: Iterable[JournalRow]) -> frozenset[str]:
    """Return the fingerprints of the keys whose shelves are used."""
    return frozenset(key for key, word in trust_words(rows).items() if word.trusted)


def fingerprint_from(text: str) -> str:
    """Read a fingerprint as a person types it, with or without spaces.

    Raises:
        PlanError: it is none.
    """
    digits = "".join(text.split()).replace(":", "").lower()
    if not _HEX.fullmatch(digits):
        raise PlanError(
            "that is no fingerprint of a key: 64 hexadecimal digits are expected.",
            subject=text[:100],
            stands="Nothing was changed.",
            next_step="Copy it as the shelf's maker gave it.",
        )
    return " ".join(digits[at : at + _GROUP] for at in range(0, len(digits), _GROUP))
