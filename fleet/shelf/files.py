"""Files of a shelf, read as what they are: plain files that lie in it, of no more than so many bytes.

A stick comes from anywhere. A link may point out of it, a name may climb out of it, a file may be a
pipe that never ends, and any of them may be exchanged between looking and reading. So a name is a bare
name, the file is opened once, and what is known of it is known of what was opened.
"""

import contextlib
import os
import re
import stat
import tempfile
from pathlib import Path

from fleet.model.errors import PlanError
from fleet.shelf.manifest import printable, unusable

PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,98}[A-Za-z0-9]", re.ASCII)
_OPEN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
_OPEN |= getattr(os, "O_BINARY", 0)  # where a system would translate line ends


def read_plain(folder: Path, name: str, most_bytes: int) -> bytes:
    """Read a whole file of a shelf.

    Args:
        folder: the shelf.
        name: bare name of the file.
        most_bytes: the largest it may be.

    Returns:
        Its bytes, one more than `most_bytes` at most: the caller says what too many means.

    Raises:
        FileNotFoundError: there is none.
        PlanError: it isn't a plain file of the shelf, or can't be read.
    """
    path = folder / name
    if not PLAIN_NAME.fullmatch(name):
        raise unusable(f"{printable(repr(name))} is no plain name of a file", str(folder))
    try:
        before = path.lstat()
        if not stat.S_ISREG(before.st_mode):
            raise unusable("it is no plain file but a link or something else", str(path))
        descriptor = os.open(path, _OPEN)
        with os.fdopen(descriptor, "rb") as file:
            if not os.path.samestat(before, os.fstat(descriptor)):
                raise unusable("it was exchanged while it was opened", str(path))
            return file.read(most_bytes + 1)
    except FileNotFoundError:
        raise
    except OSError as reason:
        raise unusable(f"it can't be read: {reason.strerror or reason}", str(path)) from reason


def checked_folder(path: Path) -> Path:
    """Return a shelf's folder.

    Raises:
        PlanError: there is no such folder.
    """
    if path.is_dir():
        return path
    raise PlanError(
        "there is no such folder.",
        subject=str(path),
        stands="Nothing was read or changed.",
        next_step="Check the path, and that the stick is plugged in.",
    )


def write_whole(folder: Path, name: str, data: bytes) -> None:
    """Put a whole file in the place of an older one, in one step.

    Raises:
        PlanError: it can't be written; an older one stands.
    """
    try:
        descriptor, half = tempfile.mkstemp(dir=folder, prefix=".half-")
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(half).chmod(0o644)  # others read a shelf; only the keys are secret
            Path(half).replace(folder / name)
        except BaseException:
            with contextlib.suppress(OSError):
                Path(half).unlink()
            raise
    except OSError as reason:
        raise unwritten(folder, reason) from reason


def unwritten(folder: Path, reason: OSError) -> PlanError:
    """Return the error of a shelf that can't be written to."""
    return PlanError(
        f"it can't be written to: {reason.strerror or reason}.",
        subject=str(folder),
        stands="The manifest is as it was.",
        next_step="Check the stick's room and its write protection, then do it again.",
    )
