"""Bringing a file to the form that this program knows: look, back up, upgrade, all or nothing.

1. A file of a version that this program doesn't know is refused before anything is opened for writing.
2. Before an upgrade the file is copied whole; the copy is named with the version and the time.
3. An upgrade is one transaction: a program killed in the middle of it leaves the version before.
"""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

from fleet.inventory.sqlite import complaint_about, copy_online, version_in
from fleet.model.errors import InventoryError


def versions(scripts: Path) -> tuple[str, ...]:
    """Return the versions that the program's scripts know, newest first."""
    known = ScriptDirectory.from_config(_config(scripts)).walk_revisions()
    return tuple(script.revision for script in known)


def upgrade(engine: Engine, scripts: Path) -> None:
    """Bring the tables to the newest version, in one transaction."""
    config = _config(scripts)
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def back_up(path: Path, version: str, now: datetime) -> Path:
    """Copy a file beside itself, named with its version and the time; return the copy.

    Raises:
        sqlite3.Error, OSError: the copy can't be made.
    """
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    target = path.with_name(f"{path.stem}-{version}-{stamp}{path.suffix}")
    copy_online(path, target)
    return target


def good_backup(path: Path) -> Path | None:
    """Return the newest backup beside a file whose pages hold together."""
    backups = path.parent.glob(f"{path.stem}-*{path.suffix}")
    newest_first = sorted(backups, key=lambda backup: backup.name.rsplit("-", 1)[-1], reverse=True)
    return next((backup for backup in newest_first if not complaint_about(backup)), None)


def known_version(path: Path, known: tuple[str, ...]) -> str | None:
    """Return a file's version, None for a fresh one, having touched nothing.

    Raises:
        InventoryError: it is broken, none of ours, or newer than this program.
    """
    try:
        version = version_in(path)
    except sqlite3.Error as reason:
        raise broken(path, str(reason)) from reason
    if version is not None and version not in known:
        raise InventoryError(
            f"its tables have the version {version!r}, and this program knows them up to {known[0]!r}.",
            subject=str(path),
            stands="It was left untouched.",
            next_step="Open it with the newer program that wrote it.",
        )
    if complaint := complaint_about(path):
        raise broken(path, complaint)
    return version


def broken(path: Path, reason: str) -> InventoryError:
    """Say that a file can't be read, and which backup can."""
    backup = good_backup(path)
    return InventoryError(
        f"the file can't be read as an inventory: {reason}.",
        subject=str(path),
        stands="It was left as it is.",
        next_step=f"The backup {backup.name} is good: put it in its place, keeping the broken file."
        if backup
        else "There is no good backup beside it: put back a copy of your own.",
    )


def _config(scripts: Path) -> Config:
    config = Config()
    config.set_main_option("path_separator", "os")
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    return config
