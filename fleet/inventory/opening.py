"""Opening the inventory's file: as its one writer, or to read alone, or not at all with the reason."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from alembic.util import CommandError
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from fleet.inventory import sqlite, upgrade
from fleet.inventory.writer_lock import WriterLock, holder_of, take_lock
from fleet.model.clock import Clock
from fleet.model.errors import InventoryError

FILE_NAME = "inventory.sqlite3"
FOLDER_MODE = 0o700


@dataclass(frozen=True, slots=True)
class OpenFile:
    """An open inventory file.

    Attributes:
        path: the file.
        engine: speaks to it.
        lock: the right to write; None where it is open to read alone.
        read_only_because: why, in words; "" for the writer.
    """

    path: Path
    engine: Engine
    lock: WriterLock | None
    read_only_because: str = ""

    def close(self) -> None:
        """Close the file, then let others write."""
        self.engine.dispose()
        if self.lock is not None:
            self.lock.release()


def open_file(folder: Path, clock: Clock, scripts: Path) -> OpenFile:
    """Open the inventory of a folder; made where it is missing, upgraded where it is older.

    Raises:
        InventoryError: it can't be made, read or upgraded, or is newer than this program.
    """
    path = folder / FILE_NAME
    with translated(path, "It was left as it is."):
        folder.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
        if not _writable(folder, path):
            because = "the file or its folder can't be written to"
            return _open_to_read(path, scripts, because, others_write=False)
        lock = take_lock(folder, clock.now())
        if lock is None:
            because = f"it is held by {holder_of(folder)}"
            return _open_to_read(path, scripts, because, others_write=True)
        try:
            return OpenFile(path, _open_to_write(path, clock, scripts), lock)
        except BaseException:
            lock.release()
            raise


@contextmanager
def translated(path: Path, stands: str) -> Iterator[None]:
    """Turn what disk and database raise into an InventoryError that says what stands."""
    try:
        yield
    except sqlite3.DatabaseError as reason:
        raise _translation(path, reason, stands) from reason
    except SQLAlchemyError as reason:
        raise _translation(path, getattr(reason, "orig", None) or reason, stands) from reason
    except (OSError, OverflowError, TypeError, ValueError, CommandError) as reason:
        raise _translation(path, reason, stands) from reason


def _translation(path: Path, reason: BaseException, stands: str) -> InventoryError:
    said = " ".join(str(reason).split())[:300]
    if "malformed" in said or "not a database" in said:
        return upgrade.broken(path, said)
    return InventoryError(
        f"the inventory's file refused: {said}.",
        subject=str(path),
        stands=stands,
        next_step="Check the disk's room and the file's rights, then do it again.",
    )


def _open_to_write(path: Path, clock: Clock, scripts: Path) -> Engine:
    known = upgrade.versions(scripts)
    version = upgrade.known_version(path, known) if path.exists() else None
    sqlite.make_private(path)
    if version is not None and version != known[0]:
        upgrade.back_up(path, version, clock.now())
    engine = sqlite.writing_engine(path)
    try:
        if version != known[0]:
            upgrade.upgrade(engine, scripts)
        else:
            engine.connect().close()
    except BaseException:
        engine.dispose()
        raise
    return engine


def _open_to_read(path: Path, scripts: Path, because: str, *, others_write: bool) -> OpenFile:
    known = upgrade.versions(scripts)
    version = upgrade.known_version(path, known) if path.exists() else None
    if version != known[0]:
        raise InventoryError(
            f"it holds tables of the version {version!r}, and {because}."
            if version
            else f"it isn't there yet, and {because}.",
            subject=str(path),
            stands="Nothing was changed.",
            next_step="Open it where it can be written to, and not twice.",
        )
    return OpenFile(path, sqlite.reading_engine(path, others_write=others_write), None, because)


def _writable(folder: Path, path: Path) -> bool:
    return os.access(folder, os.W_OK) and (not path.exists() or os.access(path, os.W_OK))
