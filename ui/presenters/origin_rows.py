"""Where each planned value of a unit comes from: its level, and the values that it stands in for."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.model.templates import OriginRow
from ui.presenters.words import item_words, value_words

HEADINGS = ("Item", "Planned", "Level", "From", "Why", "Stands in for")
NOT_PLANNED = "taken out of the plan"


@dataclass(frozen=True, slots=True)
class OriginLine:
    """One planned value: texts under `HEADINGS`, and all of them in one sentence."""

    key: str
    cells: tuple[str, ...]
    said: str


def origin_lines(rows: Iterable[OriginRow]) -> tuple[OriginLine, ...]:
    """Return a line for each planned value."""
    return tuple(_line(row) for row in rows)


def _line(row: OriginRow) -> OriginLine:
    value = NOT_PLANNED if row.value is None else value_words(row.key, row.value)
    shadowed = [f"{value_words(row.key, passed)} from {origin}" for passed, origin in row.shadowed]
    item = item_words(row.key)
    cells = (
        item,
        value,
        row.level.value,
        row.origin,
        row.why or "no reason written down",
        "\n".join(shadowed) or "nothing",
    )
    beside = f"; it stands in for {', '.join(shadowed)}" if shadowed else ""
    return OriginLine(row.key, cells, f"{item}: {value}, from {row.origin}{beside}")
