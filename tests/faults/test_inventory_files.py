"""Files that can't be used as they lie: refused or read alone, with the reason, never overwritten."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from sqlalchemy import event

from fleet.inventory import upgrade
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.opening import FILE_NAME, open_file
from fleet.inventory.sqlite import writing_engine
from fleet.model.errors import InventoryError
from fleet.shipped import migrations
from tests.architecture.source_rules import ROOT
from tests.inventories import NOON, CountingClock, reading, small_plan

HOLD = """
import sys
from pathlib import Path
from fleet.inventory.inventory import open_inventory
from tests.inventories import CountingClock, reading
with open_inventory(Path(sys.argv[1]), CountingClock()) as inventory:
    inventory.save_reading(reading("S-9"))
    print("held", flush=True)
    sys.stdin.read()
"""

READ_AS_NOBODY = """
import os, sys
from pathlib import Path
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import InventoryError
from tests.inventories import CountingClock, small_plan
if os.getuid() == 0:
    os.setuid(65534)
with open_inventory(Path(sys.argv[1]), CountingClock()) as inventory:
    assert inventory.read_only
    assert inventory.plan() == small_plan()
    assert set(inventory.readings()) == {"S-1"}
    try:
        inventory.append("late", "", {})
    except InventoryError as reason:
        print(reason)
"""


@pytest.fixture
def folder(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as inventory:
        inventory.add_site(small_plan())
        for number in range(40):
            inventory.save_reading(reading(f"S-{number}"))
    return tmp_path / "data"


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".lock"}


def change(path, *statements):
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        for statement in statements:
            connection.execute(statement)


def refused(folder, match):
    """Try to open a folder; return the reason and see that nothing in it changed."""
    before = contents(folder)
    with pytest.raises(InventoryError, match=match) as caught:
        open_inventory(folder, CountingClock())
    assert contents(folder) == before
    return caught.value


def test_a_newer_file_is_refused_untouched(folder):
    change(folder / FILE_NAME, "UPDATE alembic_version SET version_num = '0999'")
    newest = upgrade.versions(migrations())[0]
    reason = refused(folder, f"version '0999', and this program knows them up to '{newest}'")
    assert "untouched" in reason.stands


def test_a_newer_file_with_writes_still_in_its_wal_loses_none(folder):
    path = folder / FILE_NAME
    code = (
        "import os, sqlite3, sys\n"
        "connection = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "connection.execute(\"UPDATE alembic_version SET version_num = '0999'\")\n"
        "os._exit(0)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(path)], check=True)
    wal = path.with_name(FILE_NAME + "-wal").read_bytes()
    assert wal
    with pytest.raises(InventoryError, match="0999"):
        open_inventory(folder, CountingClock())
    assert path.with_name(FILE_NAME + "-wal").read_bytes() == wal


def test_a_database_of_another_program_is_refused(tmp_path):
    change(tmp_path / FILE_NAME, "CREATE TABLE other (a)")
    refused(tmp_path, "no such table: alembic_version")


def test_a_file_that_is_no_database_is_refused(tmp_path):
    (tmp_path / FILE_NAME).write_bytes(b"minutes of a meeting\n" * 400)
    refused(tmp_path, "not a database")


def test_a_file_cut_short_is_refused(folder):
    whole = (folder / FILE_NAME).read_bytes()
    (folder / FILE_NAME).write_bytes(whole[: len(whole) // 2])
    refused(folder, "can't be read as an inventory")


def test_an_empty_file_is_a_fresh_one(tmp_path):
    (tmp_path / FILE_NAME).touch()
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.sites() == ()


def corrupt_pages(path):
    """Overwrite every page but the first four with noise."""
    with path.open("r+b") as file:
        file.seek(4 * 4096)
        file.write(b"\xa5" * (path.stat().st_size - 4 * 4096))


def test_a_corrupted_page_is_refused_and_without_a_backup_it_says_so(folder):
    corrupt_pages(folder / FILE_NAME)
    assert "no good backup" in refused(folder, "can't be read as an inventory").next_step


def test_a_corrupted_page_is_refused_and_the_newest_good_backup_is_named(folder):
    good = upgrade.back_up(folder / FILE_NAME, "0001", NOON)
    bad = upgrade.back_up(folder / FILE_NAME, "0001", NOON.replace(hour=13))
    for path in (bad, folder / FILE_NAME):
        corrupt_pages(path)
    assert good.name in refused(folder, "can't be read as an inventory").next_step
    shutil.copy(good, folder / FILE_NAME)
    with open_inventory(folder, CountingClock()) as inventory:
        assert inventory.plan() == small_plan()


def test_a_page_that_breaks_while_the_file_is_open_is_said(folder):
    with open_inventory(folder, CountingClock()) as inventory:
        corrupt_pages(folder / FILE_NAME)
        with pytest.raises(InventoryError, match="malformed"):
            inventory.readings()


def test_a_backup_holds_what_is_still_in_the_wal_and_is_its_owners_alone(folder):
    with open_inventory(folder, CountingClock()) as inventory:
        inventory.save_reading(reading("S-99"))
        copy = upgrade.back_up(inventory.path, "0001", NOON)
    assert copy.name == "inventory-0001-20261125T120000.000000Z.sqlite3"
    assert copy.stat().st_mode & 0o777 == 0o600
    with contextlib.closing(sqlite3.connect(copy)) as connection:
        found = connection.execute("SELECT count(*) FROM reading WHERE serial = 'S-99'").fetchone()
    assert found == (1,)
    assert not list(folder.glob("*.part"))


def test_a_program_that_writes_keeps_a_second_one_to_reading(folder):
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
    ) as holder:
        assert holder.stdout.readline() == "held\n"
        with open_inventory(folder, CountingClock()) as inventory:
            assert inventory.read_only
            assert inventory.readings()["S-9"] == reading("S-9")
            with pytest.raises(InventoryError, match=f"held by process {holder.pid}, since"):
                inventory.append("late", "", {})
        holder.kill()
    with open_inventory(folder, CountingClock()) as inventory:
        assert not inventory.read_only
        assert inventory.readings()["S-9"] == reading("S-9")
        assert inventory.first_broken_row() is None


def test_a_second_program_cannot_open_what_is_not_there_yet(tmp_path):
    from fleet.inventory.writer_lock import take_lock

    lock = take_lock(tmp_path, NOON)
    with pytest.raises(InventoryError, match="isn't there yet, and it is held by"):
        open_inventory(tmp_path, CountingClock())
    lock.release()


@pytest.mark.skipif(sys.platform == "win32", reason="rights of a file are told another way there")
def test_a_file_that_cannot_be_written_is_read_alone():
    with tempfile.TemporaryDirectory() as place:  # pytest's own folder is closed to other users
        folder = Path(place) / "data"
        with open_inventory(folder, CountingClock()) as inventory:
            inventory.add_site(small_plan())
            inventory.save_reading(reading())
        for path in (folder / FILE_NAME, folder / "inventory.lock"):
            path.chmod(0o444)
        folder.chmod(0o555)
        Path(place).chmod(0o755)
        before = contents(folder)
        done = subprocess.run(
            [sys.executable, "-c", READ_AS_NOBODY, str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        assert done.returncode == 0, done.stderr
        assert "can't be written to" in done.stdout
        assert contents(folder) == before
        folder.chmod(0o755)


def test_a_full_disk_refuses_a_write_whole_and_reading_goes_on(folder):
    file = open_file(folder, CountingClock(), migrations())

    @event.listens_for(file.engine, "connect")
    def limit(connection, _entry):
        connection.execute("PRAGMA max_page_count = 1")  # SQLite takes the pages that are there

    file.engine.dispose()
    inventory = Inventory(file, CountingClock())
    stored = len(inventory.readings())
    with pytest.raises(InventoryError, match=r"full.*Nothing of this was stored"):  # noqa: PT012 - the write that fails isn't known beforehand
        for number in range(100, 400):
            inventory.save_reading(reading(f"S-{number}"))
            stored += 1
    assert len(inventory.readings()) == stored
    assert len(inventory.journal()) == stored + 1
    assert inventory.first_broken_row() is None
    inventory.close()


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO tick VALUES (1, 'cellar', 'walk', 'A', '', '2026-11-25T12:00:00.000000Z')",
        "INSERT INTO sheet_item VALUES (9999, 'a', '1')",
        "UPDATE unit SET room = 'cellar'",
        "DELETE FROM site",
        "UPDATE unit SET serial = 'S-1' WHERE label = 'U3'",
    ],
)
def test_the_file_itself_refuses_what_points_to_nothing_or_stands_twice(folder, statement):
    engine = writing_engine(folder / FILE_NAME)
    with engine.connect() as connection, pytest.raises(Exception, match="constraint failed"):
        connection.exec_driver_sql(statement)
    engine.dispose()
