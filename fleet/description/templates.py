"""Placeholders in texts of a Thing Model, and where in an address they may stand.

An address is written by the profile's author and filled by a stranger. So a placeholder never makes
up a scheme, and a host or port only from the address that the unit was met at; elsewhere it is a
piece of path or query. Within the braces of a URI template (RFC 6570) it would write an expression.
"""

import re
from collections.abc import Callable, Iterator

from fleet.description.documents import Json

PLACEHOLDER = re.compile(r"\{\{([A-Z][A-Z0-9_]*)\}\}")
"""A placeholder as TD 1.1 §10.3.4 has it, its name in capitals."""

ADDRESS_KEYS = frozenset({"href", "base"})
"""Members of a description that hold addresses."""

_STRAY = re.compile(r"\{\{|\}\}")
_AUTHORITY = re.compile(r"(?:[A-Za-z][A-Za-z0-9+.-]*:)?//([^/?#]*)")
_HEAD = re.compile(r"[^/?#]*")
_EXPRESSION = re.compile(r"\{[^{}]*\}")


def names_in(text: str) -> Iterator[str]:
    """Yield the names of the placeholders in a text."""
    return (found[1] for found in PLACEHOLDER.finditer(text))


def whole_placeholder(text: str) -> str:
    """Return the name of the placeholder that a text is made of alone, or ""."""
    found = PLACEHOLDER.fullmatch(text)
    return found[1] if found else ""


def hold_braces(text: str) -> None:
    """Refuse what looks like a placeholder and is none.

    Raises:
        ValueError: that is so.
    """
    if _STRAY.search(PLACEHOLDER.sub("", text)):
        raise ValueError(
            "double braces hold a placeholder's name: capitals, digits, underscores, a capital first"
        )


def hold_address(template: str, of_address: Callable[[str], bool]) -> None:
    """Refuse an address in which a placeholder could do more than fill in a piece.

    Args:
        template: the address with placeholders.
        of_address: says of a placeholder's name whether its value is the unit's own address.

    Raises:
        ValueError: that is so.
    """
    start, end = authority(template)
    for found in PLACEHOLDER.finditer(template):
        if found.start() < _end_of_scheme(template):
            raise ValueError("a placeholder can't say how a unit is spoken to (its scheme)")
        if start <= found.start() < end and not of_address(found[1]):
            raise ValueError(
                f"{found[1]} can't say which host is spoken to: that comes from the unit's address"
            )
    masked = PLACEHOLDER.sub("\0", template)
    if any("\0" in found[0] for found in _EXPRESSION.finditer(masked)):
        raise ValueError("a placeholder can't stand within the braces of a URI template")


def authority(template: str) -> tuple[int, int]:
    """Return where host and port begin and end in an address; both 0 where it has none."""
    found = _AUTHORITY.match(template)
    return found.span(1) if found else (0, 0)


def _end_of_scheme(template: str) -> int:
    head = _HEAD.match(template)
    return head[0].find(":") + 1 if head else 0


def texts_in(
    value: Json, path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Yield every text of a JSON value with where it stands; names of members are no texts."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield from texts_in(inner, (*path, name))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from texts_in(inner, (*path, number))


def members_in(value: Json, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of every member of every object in a JSON value."""
    parts: Iterator[tuple[str | int, Json]] = iter(())
    if isinstance(value, dict):
        parts = iter(value.items())
    elif isinstance(value, list):
        parts = iter(enumerate(value))
    for step, inner in parts:
        if isinstance(step, str):
            yield (*path, step)
        yield from members_in(inner, (*path, step))
