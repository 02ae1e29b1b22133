"""JSON of a stranger, read strictly.

1. Longer than the limit: refused unread.
2. Bytes that are no UTF-8, a number that isn't finite, an integer of absurd length, a name twice in
   one object, half a surrogate pair, or nesting beyond the limit: refused, because two programs
   would read it as two different things, or because it can only do harm.
3. A byte order mark at the start is skipped (RFC 8259 §8.1 allows it).
"""

import json
import math
from codecs import BOM_UTF8
from collections import Counter
from typing import NoReturn, TypeAlias

from fleet.description.limits import MAX_DEPTH, MAX_DOCUMENT_BYTES, MAX_INTEGER_DIGITS
from fleet.description.texts import plain_text
from fleet.model.errors import UnitError

Json: TypeAlias = bool | int | float | str | list["Json"] | dict[str, "Json"] | None
"""A JSON value as Python holds it."""


class _RefusedError(ValueError):
    """A rule of this module is broken; the text says which."""


def parse_json(raw: bytes, *, subject: str, limit_bytes: int = MAX_DOCUMENT_BYTES) -> Json:
    """Read one JSON value.

    Args:
        raw: the bytes as they came.
        subject: the unit that they came from, for the error.
        limit_bytes: refuse anything longer.

    Raises:
        UnitError: the bytes break one of the rules at the head of this module.
    """
    try:
        return _parsed(raw, limit_bytes)
    except _RefusedError as broken:
        reason = str(broken)
    except UnicodeDecodeError as broken:
        reason = f"byte {broken.start} is no UTF-8"
    except json.JSONDecodeError as broken:
        reason = f"no JSON at line {broken.lineno}, column {broken.colno} ({broken.msg})"
    except RecursionError:
        reason = f"it nests deeper than {MAX_DEPTH} levels"
    raise _refusal(reason, subject)


def parse_document(raw: bytes, *, subject: str) -> dict[str, Json]:
    """Read a description: one JSON object within the limits.

    Raises:
        UnitError: as `parse_json`, or the value is no object.
    """
    document = parse_json(raw, subject=subject)
    if not isinstance(document, dict):
        raise _refusal("it is no JSON object", subject)
    return document


def as_object(value: Json) -> dict[str, Json]:
    """Return `value` if it is an object, else an empty one."""
    return value if isinstance(value, dict) else {}


def as_array(value: Json) -> list[Json]:
    """Return `value` if it is an array, nothing as an empty one, and anything else as its only entry."""
    if isinstance(value, list):
        return value
    return [] if value is None else [value]


def as_texts(value: Json) -> list[str]:
    """Return the strings of a string or an array; what is no string is left out."""
    return [entry for entry in as_array(value) if isinstance(entry, str)]


def _parsed(raw: bytes, limit_bytes: int) -> Json:
    if len(raw) > limit_bytes:
        raise _RefusedError(f"it is longer than {limit_bytes // 1024} KiB")
    value: Json = _DECODER.decode(raw.removeprefix(BOM_UTF8).decode())
    # Few brackets can't nest deep, and only an escape writes half a character: UTF-8 has none.
    if raw.count(b"{") + raw.count(b"[") > MAX_DEPTH or b"\\u" in raw:
        _hold_depth_and_texts(value)
    return value


def _object_of_pairs(pairs: list[tuple[str, Json]]) -> Json:
    found = dict(pairs)
    if len(found) != len(pairs):
        (twice, _), *_ = Counter(name for name, _ in pairs).most_common(1)
        raise _RefusedError(f"the name {plain_text(twice, 40)!r} stands twice in one object")
    return found


def _no_constant(word: str) -> NoReturn:
    raise _RefusedError(f"{word} is no JSON number")


def _bounded_integer(digits: str) -> int:
    if len(digits.lstrip("-")) > MAX_INTEGER_DIGITS:
        raise _RefusedError(f"an integer has more than {MAX_INTEGER_DIGITS} digits")
    return int(digits)


def _finite_number(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise _RefusedError("a number is too large")
    return number


_DECODER = json.JSONDecoder(
    object_pairs_hook=_object_of_pairs,
    parse_constant=_no_constant,
    parse_int=_bounded_integer,
    parse_float=_finite_number,
)


def _hold_depth_and_texts(value: Json) -> None:
    level: list[Json] = [value]
    for _ in range(MAX_DEPTH + 1):
        level = [inner for outer in level for inner in _contents(outer)]
        if not level:
            return
    raise _RefusedError(f"it nests deeper than {MAX_DEPTH} levels")


def _contents(value: Json) -> list[Json]:
    if isinstance(value, str):
        _hold_whole_characters(value)
    if isinstance(value, dict):
        return [*value, *value.values()]
    return value if isinstance(value, list) else []


def _hold_whole_characters(text: str) -> None:
    if not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text):
        raise _RefusedError("a text holds half a character")


def _refusal(reason: str, subject: str) -> UnitError:
    return UnitError(
        f"what it sent can't be read: {reason}.",
        subject=subject,
        stands="Nothing of it was used.",
        next_step="Restart the unit and read it again; if that stays, its build is at fault.",
    )
