"""Firmware images as a simulated unit reads them: any octets, or our own invented container.

The container is a demonstration format of ours and no maker's:

1. The first line, ended by a line feed and no longer than 4096 octets, is a JSON object whose member
   `walkdown_image` is 1. What follows the line is the image's body, any octets.
2. Members of the object, each of which may be left out: `class_id` (the class of units it is for),
   `hardware_revisions` (a list of boards), `version`, `build_id`, `sequence` (whole number) and `seal`
   (sha-256 of the body, hex). The seal stands in for a signature: an image whose body doesn't match it
   fails as one whose signature is wrong.
3. Octets that don't begin so have no header and are taken for what the request says they are.
"""

from typing import Literal

import msgspec

MOST_HEADER_BYTES = 4096


class ImageHeader(msgspec.Struct, frozen=True):
    """What an image says of itself; "" and null where it doesn't.

    Attributes:
        walkdown_image: number of the format.
        class_id: class of the units that it is for.
        hardware_revisions: boards that it is for; none named is any.
        version, build_id, sequence: as in the request that installs it.
        seal: sha-256 of the body, hex.
    """

    walkdown_image: Literal[1]
    class_id: str = ""
    hardware_revisions: tuple[str, ...] = ()
    version: str = ""
    build_id: str = ""
    sequence: int | None = None
    seal: str = ""


def header_of(start: bytes) -> tuple[ImageHeader, int] | None:
    """Read the header from an image's first octets.

    Args:
        start: at least the first `MOST_HEADER_BYTES` octets, or the whole of a shorter image.

    Returns:
        The header and where the body begins, octets; None for an image without a header.
    """
    line, ended, _ = start[:MOST_HEADER_BYTES].partition(b"\n")
    if not ended:
        return None
    try:
        return msgspec.json.decode(line, type=ImageHeader), len(line) + 1
    except (msgspec.DecodeError, RecursionError):
        return None
