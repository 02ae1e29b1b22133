"""How the file is made, who may write to it, and where it lies."""

import os
import stat

import pytest

from fleet.inventory import opening, places
from fleet.inventory.inventory import open_inventory
from fleet.inventory.sqlite import writing_engine
from fleet.model.errors import InventoryError
from tests.inventories import CountingClock, reading, small_plan


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_folder_and_files_are_their_owners_alone(tmp_path):
    before = os.umask(0)
    try:
        with open_inventory(tmp_path / "a" / "data", CountingClock()) as inventory:
            inventory.add_site(small_plan())
            assert mode(inventory.path.parent) == 0o700
            modes = {path.name: mode(path) for path in inventory.path.parent.iterdir()}
    finally:
        os.umask(before)
    assert set(modes.values()) == {0o600}
    assert "inventory.sqlite3-wal" in modes


def test_a_file_that_others_could_read_is_closed_to_them(tmp_path):
    open_inventory(tmp_path, CountingClock()).close()
    path = tmp_path / "inventory.sqlite3"
    path.chmod(0o644)
    open_inventory(tmp_path, CountingClock()).close()
    assert mode(path) == 0o600


@pytest.mark.parametrize(
    ("pragma", "value"), [("journal_mode", "wal"), ("foreign_keys", 1), ("synchronous", 2)]
)
def test_a_writer_has_wal_foreign_keys_and_full_syncs(tmp_path, pragma, value):
    open_inventory(tmp_path, CountingClock()).close()
    engine = writing_engine(tmp_path / "inventory.sqlite3")
    with engine.connect() as connection:
        assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar_one() == value
    engine.dispose()


def test_the_second_to_open_reads_alone_and_says_who_writes(inventory):
    inventory.save_reading(reading())
    with open_inventory(inventory.path.parent, CountingClock()) as second:
        assert second.read_only
        assert second.plan() == small_plan()
        inventory.save_reading(reading(title="since then"))
        assert second.readings()["S-1"].title == "since then"
        with pytest.raises(InventoryError, match=f"held by process {os.getpid()}, since 2026-"):
            second.save_reading(reading())
    assert not inventory.read_only
    assert inventory.read_only_because == ""


def test_the_right_to_write_is_free_after_closing(inventory, reopened):
    again = reopened()
    assert not again.read_only
    again.append("came back", "", {})


def test_closing_twice_does_no_harm(inventory):
    inventory.close()
    inventory.close()


def test_a_closed_inventory_neither_reads_nor_writes(inventory):
    inventory.close()
    with pytest.raises(InventoryError, match="it is closed"):
        inventory.plan()
    with pytest.raises(InventoryError, match="it is closed"):
        inventory.append("late", "", {})


def test_what_the_disk_refuses_is_said_with_what_stands(tmp_path):
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    with pytest.raises(InventoryError, match="It was left as it is"):
        open_inventory(tmp_path / "file", CountingClock())


def test_a_percent_sign_in_the_place_of_the_scripts_does_no_harm(tmp_path):
    scripts = tmp_path / "100% ours"
    scripts.symlink_to(opening.Path(places.__file__).parents[2] / "migrations")
    opening.open_file(tmp_path / "data", CountingClock(), scripts).close()
    assert (tmp_path / "data" / "inventory.sqlite3").is_file()


def test_the_default_folder_is_the_platforms_and_is_not_made(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert places.default_folder().name == "walkdown"
    assert list(tmp_path.iterdir()) == []
