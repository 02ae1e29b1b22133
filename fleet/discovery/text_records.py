"""TXT records of DNS-SD (RFC 6763 §6.4), read by the RFC's own rules.

1. A record is a run of strings, each with a length byte before it.
2. A string with an empty key, "=x", is ignored without a word.
3. A key compares without regard to case, and the first of a key counts; later ones are ignored.
4. Absent, `key`, `key=` and `key=v` are four states: absent, None, b"" and b"v" here.
5. A string that runs past the end of the record ends the reading; what came before it stands.
"""

from collections.abc import Mapping

from fleet.description.texts import plain_text

MAX_STRING_BYTES = 255


def read_text_record(record: bytes) -> Mapping[str, bytes | None]:
    """Return the keys of a TXT record in lower case with their values."""
    found: dict[str, bytes | None] = {}
    at = 0
    while at < len(record):
        length = record[at]
        string = record[at + 1 : at + 1 + length]
        if len(string) < length:
            break
        at += 1 + length
        key, equals, value = string.partition(b"=")
        name = key.decode("ascii", errors="replace").lower()
        if name and name not in found:
            found[name] = value if equals else None
    return found


def text_of(record: Mapping[str, bytes | None], key: str, default: str) -> str:
    """Return a value as text; the default where the key is absent, bare, empty or no UTF-8."""
    value = record.get(key)
    if not value:
        return default
    try:
        return value.decode("utf-8")
    except UnicodeDecodeError:
        return default


def texts_of(record: Mapping[str, bytes | None]) -> Mapping[str, str]:
    """Return all keys and values as text that is safe to show; "" for a bare key, no UTF-8 is left out.

    A key outside printable ASCII is left out as well: RFC 6763 §6.4 allows none.
    """
    found: dict[str, str] = {}
    for key, value in record.items():
        if not (key.isascii() and key.isprintable()):
            continue
        try:
            found[key] = shown((value or b"").decode("utf-8"))
        except UnicodeDecodeError:
            continue
    return found


def shown(text: str) -> str:
    """Return text of an advert as it is safe to show; most is so already, and that goes quickly."""
    harmless = text.isascii() and text.isprintable() and "<" not in text and ">" not in text
    return text if harmless else plain_text(text, MAX_STRING_BYTES)
