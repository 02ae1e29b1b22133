"""Sentences in sections under headings, each with its state: what a dialog lays before a person."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.model.snapshot import ItemState
from ui.presenters.words import breakable


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, and the glyph before it; None for no glyph."""

    text: str
    state: ItemState | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    lines: tuple[Said, ...]


def section(title: str, texts: Iterable[str], state: ItemState | None, if_none: str) -> Section:
    """Return a section of sentences of one state; `if_none` is said where there are none."""
    lines = tuple(Said(breakable(text), state) for text in texts)
    return Section(title, lines or (Said(if_none),))


def sections_words(sections: Iterable[Section]) -> str:
    """Say all of it in a row, for a screen reader."""
    return " ".join(f"{one.title}: {' '.join(line.text for line in one.lines)}" for one in sections)
