"""JSON pointers (RFC 6901): one place in a JSON value, named from its root."""

import re

from fleet.description.documents import Json
from fleet.description.limits import MAX_DEPTH

_ESCAPE = re.compile("~(.?)", re.DOTALL)
_ESCAPED = {"0": "~", "1": "/"}
_INDEX = re.compile("0|[1-9][0-9]{0,8}", re.ASCII)  # §4: no leading zeros


def read_pointer(text: str) -> tuple[str, ...]:
    """Return the steps of a pointer; "" is the whole value.

    Raises:
        ValueError: it is no pointer, or deeper than any value may nest.
    """
    if text and not text.startswith("/"):
        raise ValueError("a JSON pointer is empty or begins with a slash")
    steps = text.split("/")[1:]
    if len(steps) > MAX_DEPTH:
        raise ValueError(f"a JSON pointer has more than {MAX_DEPTH} steps")
    return tuple(_ESCAPE.sub(_unescaped, step) for step in steps)


def written(steps: tuple[str, ...]) -> str:
    """Return steps as a pointer is written."""
    return "".join("/" + step.replace("~", "~0").replace("/", "~1") for step in steps)


def value_at(steps: tuple[str, ...], value: Json) -> Json:
    """Return what stands at a pointer.

    Raises:
        LookupError: nothing stands there.
    """
    for step in steps:
        if isinstance(value, dict) and step in value:
            value = value[step]
        elif isinstance(value, list) and _INDEX.fullmatch(step) and int(step) < len(value):
            value = value[int(step)]
        else:
            raise LookupError(written(steps))
    return value


def _unescaped(found: re.Match[str]) -> str:
    if found[1] not in _ESCAPED:
        raise ValueError("a JSON pointer has ~ only as ~0 (for ~) or ~1 (for /)")
    return _ESCAPED[found[1]]
