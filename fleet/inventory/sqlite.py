"""All that only SQLite knows: how a file is opened, looked at, checked and copied.

1. A writer opens in WAL mode with foreign keys on and every commit synced to the disk.
2. Transactions begin with BEGIN, sent by us: the driver's own way leaves table changes outside.
3. A look at a file that nobody has open changes nothing, not even beside it.
"""

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry

FILE_MODE = 0o600
_BUSY_S = 5.0
_PRAGMAS = ("PRAGMA foreign_keys = ON",)
_WRITER_PRAGMAS = ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", *_PRAGMAS)
_READER_PRAGMAS = ("PRAGMA query_only = ON", *_PRAGMAS)


def make_private(path: Path) -> None:
    """Make the file where it is missing, and let its owner alone read it; WAL files follow suit.

    Raises:
        OSError: it can't be made or its mode can't be set.
    """
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, FILE_MODE))
    path.chmod(FILE_MODE)


def writing_engine(path: Path) -> Engine:
    """Return an engine that writes to a file."""
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": _BUSY_S})
    _prepare(engine, _WRITER_PRAGMAS)
    return engine


def reading_engine(path: Path, *, others_write: bool) -> Engine:
    """Return an engine that can't write to a file; `others_write` says whether another program may."""
    address = _address(path) if others_write else _still_address(path)

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(address, uri=True, timeout=_BUSY_S, check_same_thread=False)

    engine = create_engine(f"sqlite:///{path}", creator=connect)
    _prepare(engine, _READER_PRAGMAS)
    return engine


def version_in(path: Path) -> str | None:
    """Return the version of the tables in a file; None where it holds no tables at all.

    Raises:
        sqlite3.Error: it is no database, or none of ours.
    """
    with _looking(path) as connection:
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        if not tables:
            return None
        versions = connection.execute("SELECT version_num FROM alembic_version").fetchall()
    return str(versions[0][0]) if versions else ""


def complaint_about(path: Path) -> str:
    """Say what is broken in a file's pages; "" where they hold together."""
    try:
        with _looking(path) as connection:
            said = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.Error as reason:
        return str(reason)
    return "" if said == "ok" else " ".join(said.split())


def copy_online(path: Path, target: Path) -> None:
    """Copy a database whole, whatever its WAL still holds; a half copy never has the target's name.

    Raises:
        sqlite3.Error, OSError: the copy can't be made; there is no target then.
    """
    half = target.with_name(target.name + ".part")
    half.unlink(missing_ok=True)
    make_private(half)
    with (
        contextlib.closing(sqlite3.connect(path, timeout=_BUSY_S)) as source,
        contextlib.closing(sqlite3.connect(half)) as copy,
    ):
        source.backup(copy)
        # A backup lies still: one file, with nothing of it in a WAL beside it.
        copy.execute("PRAGMA journal_mode = DELETE")
    _sync(half)
    half.replace(target)


def _prepare(engine: Engine, pragmas: tuple[str, ...]) -> None:
    @event.listens_for(engine, "connect")
    def on_connect(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        for pragma in pragmas:
            cursor.execute(pragma)
        cursor.close()

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")


@contextlib.contextmanager
def _looking(path: Path) -> Iterator[sqlite3.Connection]:
    address = _still_address(path)
    with contextlib.closing(sqlite3.connect(address, uri=True, timeout=_BUSY_S)) as connection:
        yield connection


def _address(path: Path) -> str:
    return f"{path.resolve().as_uri()}?mode=ro"


def _still_address(path: Path) -> str:
    """Without a WAL nobody writes, and the file can be read without leaving a trace."""
    unattended = not path.with_name(path.name + "-wal").exists()
    return _address(path) + ("&immutable=1" if unattended else "")


def _sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
