"""One writer: a lock on a file beside the inventory, which the system drops when its holder ends.

The file isn't deleted: whoever deleted it could take another's lock with it. It names its holder, so
that a second program can say who is writing.
"""

import os
import sys
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fleet.model.clock import to_rfc3339

LOCK_NAME = "inventory.lock"
_LOCKED_BYTE = 1 << 30  # beyond the holder's name, which others have to be able to read


@dataclass(frozen=True, slots=True)
class WriterLock:
    """The right to write, held until `release`.

    Attributes:
        descriptor: of the lock file.
    """

    descriptor: int

    def release(self) -> None:
        """Give the right back; the system would do it at the end of the process."""
        os.close(self.descriptor)


def take_lock(folder: Path, now: datetime) -> WriterLock | None:
    """Take the right to write in a folder; None where another holds it.

    Raises:
        OSError: the lock file can't be made or opened for writing.
    """
    descriptor = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _lock(descriptor)
    except OSError:
        os.close(descriptor)
        return None
    holder = f"process {os.getpid()}, since {to_rfc3339(now)}"
    os.truncate(descriptor, 0)
    os.write(descriptor, holder.encode())
    return WriterLock(descriptor)


def holder_of(folder: Path) -> str:
    """Say who holds the right to write, as far as the lock file tells."""
    try:
        said = (folder / LOCK_NAME).read_text(encoding="utf-8")[:200]
    except (OSError, UnicodeDecodeError):
        said = ""
    return said or "another program"


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        os.lseek(descriptor, 0, os.SEEK_SET)

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
