"""What came of a pasted list of addresses, a line each."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.model.meeting import AddressResult
from fleet.model.snapshot import ItemState
from ui.presenters.words import count_words


@dataclass(frozen=True, slots=True)
class AddressRow:
    """A line: what came of it, and the glyph for it."""

    text: str
    state: ItemState


def asked_lines(text: str) -> tuple[str, ...]:
    """Return the lines of a pasted list that hold something."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def address_rows(results: Sequence[AddressResult]) -> tuple[AddressRow, ...]:
    """Return a row for each line, in its order."""
    return tuple(_row(result) for result in results)


def summary_words(results: Sequence[AddressResult]) -> str:
    """Say how many were met."""
    met = sum(bool(result.serial) for result in results)
    return f"{met} of {count_words(len(results), 'address', 'addresses')} led to a unit."


def _row(result: AddressResult) -> AddressRow:
    if result.serial:
        more = f" {result.said}" if result.said else ""
        return AddressRow(f"{result.line}: {result.serial} was met.{more}", ItemState.SHOWN)
    return AddressRow(f"{result.line}: {result.said}", ItemState.WRONG)
