"""Looking through a shelf at a visit, and a person's word on the key that signed it.

A shelf whose key nobody trusts is told with the key's fingerprint and nothing else: what lies on it is as
unknown as who signed it. Whoever asks the key's owner for the fingerprint by another way, and finds it the
same, trusts it; that word goes into the journal, and the last one on a key counts.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from fleet.inventory.inventory import Inventory
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.firmware import Image, ImageLine
from fleet.shelf.files import checked_folder
from fleet.shelf.opening import Shelf, checked_signature, open_shelf, read_manifest
from fleet.shelf.trust import (
    KEY_DISTRUSTED,
    KEY_TRUSTED,
    TrustWord,
    fingerprint_from,
    trust_words,
)


@dataclass(frozen=True, slots=True)
class ShelfLook:
    """What a look at a shelf showed.

    Attributes:
        path: its folder.
        fingerprint: of the key that signed it, hex in groups of four.
        word: the last word on that key; None where nobody said one.
        images: what lies on it; () where the key isn't trusted.
    """

    path: Path
    fingerprint: str
    word: TrustWord | None
    images: tuple[ImageLine, ...] = ()

    @property
    def trusted(self) -> bool:
        """Whether somebody here trusts the key, so that the shelf may be used."""
        return self.word is not None and self.word.trusted


def key_words(inventory: Inventory) -> Mapping[str, TrustWord]:
    """Return fingerprint → the last word on it."""
    return trust_words(inventory.journal_of(KEY_TRUSTED, KEY_DISTRUSTED))


def say_of_key(
    inventory: Inventory, fingerprint: str, *, trusted: bool, by: str, why: str
) -> TrustWord:
    """Write down that a person trusts a key, or no longer; return that word.

    Args:
        inventory: with the journal.
        fingerprint: as a person types it, with or without spaces.
        trusted: whether shelves signed with it are used from now on.
        by, why: who says so, and for what reason.

    Raises:
        PlanError: it is no fingerprint, nobody is named, or no reason given.
        InventoryError: the journal can't be written.
    """
    key = fingerprint_from(fingerprint)
    if not by.strip() or not why.strip():
        raise PlanError(
            "who says so of a key, and why, has to be said.",
            subject=key,
            stands="Nothing was changed.",
        )
    what = KEY_TRUSTED if trusted else KEY_DISTRUSTED
    row = inventory.append(what, key, {"by": by.strip(), "why": why.strip()})
    return TrustWord(key, trusted, by.strip(), why.strip(), row.at)


def look_at(folder: Path, words: Mapping[str, TrustWord]) -> tuple[ShelfLook, Shelf | None]:
    """Look through a shelf; return what is told of it, and the shelf itself where it may be used.

    Args:
        folder: the shelf's.
        words: by fingerprint, the last word on each key.

    Raises:
        PlanError: there is no shelf, its signature doesn't match, or its manifest can't be used.
    """
    checked = checked_folder(folder)
    key = checked_signature(checked, read_manifest(checked))
    look = ShelfLook(checked, key, words.get(key))
    if not look.trusted:
        return look, None
    shelf = open_shelf(folder, {key})
    return replace(look, images=tuple(_line_of(shelf, image) for image in shelf.images)), shelf


def not_trusted(look: ShelfLook) -> PlanError:
    """Return the error of a shelf that was wanted, and whose key nobody here trusts."""
    return PlanError(
        f"it is signed with the key {look.fingerprint}, which nobody here trusts.",
        subject=str(look.path),
        stands="Nothing of the shelf is used, and no unit was written to.",
        next_step="Compare the fingerprint with what the key's owner reads out; if it is the same, "
        "trust it among the shelf keys.",
    )


def _line_of(shelf: Shelf, image: Image) -> ImageLine:
    line = ImageLine(image, trusted=True, said="It is as its maker signed it.")
    try:
        shelf.image_bytes(image)
    except WalkdownError as reason:
        return replace(line, trusted=False, said=str(reason))
    return replace(line, fingerprint=shelf.fingerprint)
