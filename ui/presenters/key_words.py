"""Whose shelves are trusted, in words: of a shelf that was opened, and of every key that was spoken of."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.engine.shelf_keys import ShelfLook
from fleet.model.snapshot import ItemState
from fleet.shelf.trust import TrustWord
from ui.presenters.fingerprints import first_group
from ui.presenters.said_parts import Said
from ui.presenters.words import sentence

TRUST, WITHDRAW = "Trust this key", "Withdraw trust"
COMPARED = "Its owner read it out to me, and every group is the same"
TRUST_SAID = (
    "Call the key’s owner and have them read the fingerprint out. Trust the key only if every group is the "
    "same. From then on, builds on every shelf that it signed may be sent to units."
)
WITHDRAW_SAID = (
    "Shelves signed with this key are used no longer. A campaign with such an image pauses; units that are "
    "away come to an end first. Units keep the builds that they run."
)
NO_KEYS = "No key was spoken of yet. A shelf that you open shows the key that signed it."


@dataclass(frozen=True, slots=True)
class KeyRow:
    """A key that somebody spoke of: how its fingerprint begins, who said what, whether it is trusted."""

    fingerprint: str
    text: str
    trusted: bool
    state: ItemState


def shelf_said(look: ShelfLook) -> Said:
    """Say whether a shelf may be used, whose word that is, and what to do where it may not."""
    if look.word is None:
        return Said(
            "Nobody here trusts the key that signed this shelf, so nothing of it is used. Have the key’s "
            "owner read its fingerprint out by phone, and compare:",
            ItemState.LOOK,
        )
    if look.trusted:
        return Said(
            f"The key that signed this shelf is trusted: {_word(look.word)}", ItemState.SHOWN
        )
    return Said(
        f"Trust in the key that signed this shelf was withdrawn: {_word(look.word)} Nothing of it is used.",
        ItemState.WRONG,
    )


def key_rows(words: Iterable[TrustWord]) -> tuple[KeyRow, ...]:
    """Return a row for each key that somebody spoke of."""
    return tuple(
        KeyRow(
            word.fingerprint,
            f"{first_group(word.fingerprint)} {'trusted' if word.trusted else 'withdrawn'}: {_word(word)}",
            word.trusted,
            ItemState.SHOWN if word.trusted else ItemState.NOT_TESTED,
        )
        for word in words
    )


def _word(word: TrustWord) -> str:
    by = word.by or "nobody named"
    return sentence(f"{by}, {word.at:%d %b %Y}: {word.why or 'no reason written down'}")
