"""What arrives from a unit that is watched, whichever way it comes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec


class Arrival(msgspec.Struct, frozen=True, gc=False):
    """One value that came; a struct, since making thousands a second of them counts.

    Attributes:
        data: JSON as it came, or as it was put together.
        id: what to send as Last-Event-ID to go on after it; "" where the way has none.
        part_ages_s: a value that was put together from parts: the age of each at that moment, s.
    """

    data: bytes
    id: str = ""
    part_ages_s: Mapping[str, float] = {}


@dataclass(frozen=True, slots=True)
class ReadValue:
    """A property's value as it was read, with its tag (ETag) where the unit gave one."""

    value: Any
    etag: str | None
