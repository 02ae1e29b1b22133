"""How values become texts: for a column, and for a digest.

1. A column holds what was said, letter for letter, but for what no database takes: a lone half of a
   surrogate pair and NUL become U+FFFD.
2. A digest is taken over the canonical form: JSON with sorted keys and no spaces, texts in NFC, UTF-8.
   It is the same for two texts that differ in how an accent is composed; the column isn't.
3. A time is RFC 3339 in UTC with six decimals, so that texts sort as times do.
"""

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from datetime import UTC, datetime


def storable(text: str) -> str:
    """Return the text with what no database takes put as U+FFFD."""
    whole = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    return whole.replace("\0", "\ufffd")


def to_json(value: object) -> str:
    """Write a JSON value for a column.

    Raises:
        ValueError: it holds NaN or an infinity, or an integer of thousands of digits.
        TypeError: it holds what JSON has no word for.
    """
    return json.dumps(_settled(value, None), ensure_ascii=False, allow_nan=False, sort_keys=True)


def canonical(value: object) -> bytes:
    """Write a JSON value in the canonical form that digests are taken over.

    Raises:
        ValueError, TypeError: as `to_json`.
    """
    text = json.dumps(
        _settled(value, "NFC"),
        ensure_ascii=False,
        allow_nan=False,
        sort_keys=True,
        separators=(",", ":"),
    )
    return text.encode()


def sha256_of(value: object) -> str:
    """Return the SHA-256 of a JSON value's canonical form, hex."""
    return hashlib.sha256(canonical(value)).hexdigest()


def to_moment_text(moment: datetime) -> str:
    """Write a time for a column.

    Raises:
        ValueError: it has no offset from UTC, so nobody can say which moment is meant.
    """
    if moment.tzinfo is None:
        raise ValueError(f"the time {moment.isoformat()} has no offset from UTC")
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def _settled(value: object, form: str | None) -> object:
    if isinstance(value, str):
        text = storable(value)
        return unicodedata.normalize("NFC", text) if form else text
    if isinstance(value, Mapping):
        return {_settled(str(key), form): _settled(item, form) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_settled(item, form) for item in value]
    return value
