"""Where the octets of an image go while they come in: an unnamed file of bounded size, never memory."""

import hashlib
import tempfile
from dataclasses import dataclass, field
from io import BufferedRandom

from fleet.simulator.figures import MOST_IMAGE_BYTES
from fleet.simulator.images import MOST_HEADER_BYTES


class NoSpaceError(Exception):
    """The image is larger than what a unit has room for."""


def _unnamed_file() -> BufferedRandom:
    return tempfile.TemporaryFile("w+b")


@dataclass(slots=True)
class Spool:
    """One image on a unit's flash.

    Attributes:
        size: octets written.
        spoilt: the first octet is kept wrong, as a bad cell of flash would.
    """

    size: int = 0
    spoilt: bool = False
    _file: BufferedRandom = field(default_factory=_unnamed_file)

    def write(self, octets: bytes) -> None:
        """Add octets at the end.

        Raises:
            NoSpaceError: there is no room for them; nothing of them was written.
        """
        if self.size + len(octets) > MOST_IMAGE_BYTES:
            raise NoSpaceError(f"an image has to keep within {MOST_IMAGE_BYTES} octets")
        if self.spoilt and not self.size and octets:
            octets = bytes([octets[0] ^ 1]) + octets[1:]
        self._file.seek(self.size)
        self._file.write(octets)
        self.size += len(octets)

    def start(self) -> bytes:
        """Return the first octets, enough for any header."""
        self._file.seek(0)
        return self._file.read(MOST_HEADER_BYTES)

    def digest(self, begin: int = 0) -> str:
        """Return the sha-256, hex, of what is kept from octet `begin` on."""
        self._file.seek(begin)
        return hashlib.file_digest(self._file, "sha256").hexdigest()

    def close(self) -> None:
        """Drop it."""
        self._file.close()
