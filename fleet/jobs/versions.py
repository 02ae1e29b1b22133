"""Versions in their order: Semantic Versioning 2.0.0, and nothing guessed about any other writing.

Rules, by the numbers of the specification (https://semver.org/spec/v2.0.0.html):

1. A version is MAJOR.MINOR.PATCH, numbers without leading zeros (§2); then, if any, a hyphen and
   identifiers of what comes before the release (§9); then, if any, a plus and identifiers of the make
   (§10).
2. Identifiers are made of ASCII letters, digits and hyphens, and are never empty; before the release a
   number has no leading zero (§9).
3. Order is by the three numbers, then by what comes before the release; the make doesn't count (§11).
4. What is written otherwise ("v2.1", "2.1", "R7b") is shown as it stands and has no order: asked which of
   two is newer, the answer is that nobody knows. A manifest's sequence orders builds of one class then.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_letters, digits

MOST_CHARS = 256
"""Longer texts are no version: a limit of ours, the specification has none."""

_DIGITS = frozenset(digits)
_IDENTIFIER = frozenset(ascii_letters + digits + "-")
_NUMBERS = 3

Identifier = int | str


@dataclass(frozen=True, slots=True)
class Version:
    """A version by the specification.

    Attributes:
        major, minor, patch: its numbers.
        before: identifiers of what comes before the release; none for the release itself.
        make: identifiers of the make, which have no part in the order.
    """

    major: int
    minor: int
    patch: int
    before: tuple[Identifier, ...] = ()
    make: tuple[str, ...] = ()


def version_from(text: str) -> Version | None:
    """Read a version; None for what the specification doesn't allow."""
    if len(text) > MOST_CHARS:
        return None
    rest, plus, make_text = text.partition("+")
    core, hyphen, before_text = rest.partition("-")
    numbers = [_number(part) for part in core.split(".")]
    before = [_before(part) for part in before_text.split(".")] if hyphen else []
    make = make_text.split(".") if plus else []
    if len(numbers) != _NUMBERS or None in before or not all(map(_is_identifier, make)):
        return None
    major, minor, patch = numbers
    if major is None or minor is None or patch is None:
        return None
    return Version(
        major, minor, patch, tuple(part for part in before if part is not None), tuple(make)
    )


def compared(one: str, other: str) -> int | None:
    """Say in which order two versions stand.

    Returns:
        −1 where `one` comes before `other`, 0 where neither does, 1 where it comes after; None where one
        of them isn't written by the specification, unless both are the same text.
    """
    if one == other:
        return 0
    first, second = version_from(one), version_from(other)
    if first is None or second is None:
        return None
    numbers = (first.major, first.minor, first.patch)
    others = (second.major, second.minor, second.patch)
    if numbers != others:
        return 1 if numbers > others else -1
    return _compared_before(first.before, second.before)


def _compared_before(one: Sequence[Identifier], other: Sequence[Identifier]) -> int:
    """Compare what comes before a release; having nothing there is the release, which comes last."""
    if not one or not other:
        return bool(other) - bool(one)
    left, right = [_rank(part) for part in one], [_rank(part) for part in other]
    return (left > right) - (left < right)


def _rank(part: Identifier) -> tuple[int, int, str]:
    """Numbers come before words and count by value; words count by their ASCII."""
    return (0, part, "") if isinstance(part, int) else (1, 0, part)


def _number(text: str) -> int | None:
    plain = bool(text) and _DIGITS.issuperset(text)
    return int(text) if plain and (text == "0" or text[0] != "0") else None


def _before(text: str) -> Identifier | None:
    if not _is_identifier(text):
        return None
    return _number(text) if _DIGITS.issuperset(text) else text


def _is_identifier(text: str) -> bool:
    return bool(text) and _IDENTIFIER.issuperset(text)
