"""Text from a unit, made safe to show.

A name or a reason that a unit sends may carry line breaks, terminal codes, right-to-left overrides
that reorder what stands beside it, or markup. A person shall read letters and nothing else.
"""

import unicodedata
from decimal import Decimal

from fleet.description.limits import MAX_TEXT_CHARS

_REMOVED_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_MARKUP = str.maketrans({"<": "‹", ">": "›"})
_MAX_MARKS_IN_A_ROW = 2
_MOST_EXACT = 2**53 - 1  # the largest integer that JSON carries exactly everywhere (RFC 8259 §6)


def plain_text(text: str, limit: int = MAX_TEXT_CHARS) -> str:
    """Return `text` as one line of at most `limit` characters that can't do anything but be read.

    Control, format and unassigned characters go (bidi overrides are format characters), white space
    of any kind becomes one blank, piles of combining marks are cut, and angle brackets become
    quotation marks of the same look, so that no window takes them for markup.
    """
    # A character may be dropped, so read a bit more than is kept; never a whole megabyte.
    spaced = " ".join(text[: limit * 4].split())
    kept = "".join(_without_marks_in_a_row(spaced))
    line = " ".join(kept.split()).translate(_MARKUP)
    return line if len(line) <= limit else line[: limit - 1].rstrip() + "…"


def plain_number(number: int | float) -> int | str:
    """Return a finite number as an integer that any program keeps exactly, else in words."""
    whole = round(number)
    # An integer may be larger than any float, so that it could not be formatted as one.
    return whole if abs(whole) <= _MOST_EXACT else f"{Decimal(number):.6g}"


def _without_marks_in_a_row(text: str) -> list[str]:
    kept: list[str] = []
    marks = 0
    for character in text:
        category = unicodedata.category(character)
        if category in _REMOVED_CATEGORIES:
            continue
        marks = marks + 1 if category in {"Mn", "Me"} else 0
        if marks <= _MAX_MARKS_IN_A_ROW:
            kept.append(character)
    return kept
