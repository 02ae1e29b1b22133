"""One text for one document: JSON canonical by RFC 8785 after NFC, without floating point."""

import unicodedata
from collections.abc import Mapping
from typing import Any

import rfc8785

from fleet.model.errors import RecordError

LARGEST_INTEGER = 2**53 - 1


def canonical_bytes(document: Mapping[str, Any], name: str = "record") -> bytes:
    """Return a document as RFC 8785 JSON, its text in NFC.

    Args:
        document: mappings, lists, words, integers and booleans.
        name: what messages call it.

    Raises:
        RecordError: a member is of another type, too large for RFC 8785, or no Unicode text; or two
            names are one after NFC. The message names the member.
    """
    return rfc8785.dumps(in_nfc(document, name))


def in_nfc(document: Mapping[str, Any], name: str = "record") -> dict[str, Any]:
    """Return a document with all its text in NFC, having refused what can't be signed.

    Raises:
        RecordError: as `canonical_bytes`.
    """
    return _members(document, name)


def _normal(value: object, member: str) -> object:
    match value:
        case bool():
            return value
        case int():
            return _bounded(value, member)
        case str():
            return _text(value, member)
        case Mapping():
            return _members(value, member)
        case list() | tuple():
            return [_normal(item, f"{member}[{number}]") for number, item in enumerate(value)]
        case _:
            raise _refused(member, f"is {type(value).__name__}, not an integer, word or boolean")


def _bounded(value: int, member: str) -> int:
    if abs(value) > LARGEST_INTEGER:
        raise _refused(member, "is larger than every reader of JSON can hold")
    return int(value)


def _text(value: str, member: str) -> str:
    if any("\ud800" <= letter <= "\udfff" for letter in value):
        raise _refused(member, "holds half a character")
    return unicodedata.normalize("NFC", str(value))


def _members(value: Mapping[Any, Any], member: str) -> dict[str, Any]:
    members: dict[str, Any] = {}
    for name, item in value.items():
        if not isinstance(name, str):
            raise _refused(member, f"has a member named {name!r}, which is no word")
        name_nfc = _text(name, member)
        if name_nfc in members:
            raise _refused(member, f"has two members named {name_nfc!r}")
        members[name_nfc] = _normal(item, f"{member}.{name_nfc}")
    return members


def _refused(member: str, reason: str) -> RecordError:
    return RecordError(
        f"{member} {reason}.",
        stands="No record was written.",
        next_step="Correct what is said there and issue the record again.",
    )
