"""Restoring a unit: the sheets that are kept of it, and what bringing it back to one would come to."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.restoring import Impossible
from fleet.model.journal import Change
from fleet.model.snapshot import ItemState
from ui.presenters.said_parts import Section, section
from ui.presenters.words import count_words, item_words, value_words


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A kept sheet: its key, when and what it is, and why it is kept."""

    key: str
    text: str
    below: str


def sheet_rows(kept: Sequence[KeptSheet]) -> tuple[SheetRow, ...]:
    """Return the sheets, the newest first."""
    return tuple(
        SheetRow(
            sheet.key,
            f"{sheet.at:%d %b %Y %H:%M} UTC · {sheet.kind}",
            f"{sheet.why or 'no reason written down'} · {count_words(len(sheet.sheet), 'item')}",
        )
        for sheet in reversed(kept)
    )


def restore_sections(
    changes: Sequence[Change], impossible: Sequence[Impossible]
) -> tuple[Section, ...]:
    """Return what would be written, and what can't be brought back."""
    written = [
        f"{item_words(change.key)}: {value_words(change.key, change.found)} now, "
        f"{value_words(change.key, change.planned)} afterwards."
        for change in changes
    ]
    left = [
        f"{item_words(one.key)}: {value_words(one.key, one.kept)} was kept, "
        f"{value_words(one.key, one.found)} stands. It stays: {one.reason}."
        for one in impossible
    ]
    return (
        section(
            "Would be written", written, ItemState.TO_DO, "Nothing that can be written differs."
        ),
        section("Can’t be brought back", left, ItemState.NOT_TESTED, "Nothing: all of it can be."),
    )
