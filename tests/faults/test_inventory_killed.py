"""kill -9 at every point of every write, of an upgrade and of its backup: nothing lost, nothing half."""

import contextlib
import shutil
import sqlite3
import subprocess
import sys

from fleet.inventory import upgrade
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.opening import open_file
from fleet.shipped import migrations
from tests.architecture.source_rules import ROOT
from tests.inventories import CountingClock, small_plan

# What must be there for each row of the journal, and not without it.
COUNTS = {
    "sighted": "SELECT count(*) FROM sighting",
    "read": "SELECT count(*) FROM reading WHERE (SELECT count(*) FROM sheet_item WHERE"
    " sheet_item.sheet_id = reading.sheet_id) = 3",
    "line-saved": "SELECT count(*) FROM unit WHERE label = 'U2' AND serial = 'S-2' AND (SELECT"
    " count(*) FROM unit_setting WHERE label = 'U2' AND unit_setting.site_id = unit.site_id) = 3",
    "planned-item-decided": "SELECT count(*) FROM planned_item",
    "ticked": "SELECT count(*) FROM tick",
    "signed": "SELECT count(*) FROM signature WHERE visit_id IS NULL",
    "left": "SELECT count(*) FROM sheet WHERE kind = 'as left' AND visit_id IS NULL",
    "evidence-kept": "SELECT count(*) FROM evidence JOIN document USING (sha256)",
    "step-intended": "SELECT count(*) FROM step",
    "step-concluded": "SELECT count(*) FROM step WHERE settled_at IS NOT NULL",
    "site-added": "SELECT count(*) FROM site",
    "certificate-trusted": "SELECT count(*) FROM certificate_pin",
    "broker-added": "SELECT count(*) FROM broker",
}

NEWEST = upgrade.versions(migrations())[0]
NEXT = f"{int(NEWEST) + 1:04}"
NEXT_VERSION = '''
"""A next version, for tests: a table more and a row in it."""

import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "(next)", "(newest)", None, None


def upgrade() -> None:
    op.create_table("kept", sa.Column("what", sa.Text(), nullable=False))
    op.execute("INSERT INTO kept VALUES ('one')")
    op.add_column("site", sa.Column("hue", sa.Text(), nullable=True))
    op.execute("UPDATE site SET hue = 'green'")
'''.replace("(next)", NEXT).replace("(newest)", NEWEST)


def kill_everywhere(mode, folder) -> int:
    """Run the program beside this; return at how many points a child was killed."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_inventory", mode, str(folder)],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return int(done.stdout)


def scripts_with_a_next_version(folder):
    shutil.copytree(migrations(), folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / f"{NEXT}_next.py").write_text(NEXT_VERSION, encoding="utf-8")
    return folder


def acknowledged(place) -> list[str]:
    path = place / "acknowledged"
    return path.read_text(encoding="utf-8").split() if path.exists() else []


def answers(path, *questions) -> list[object]:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return [connection.execute(question).fetchone()[0] for question in questions]


def test_a_write_that_returned_stands_and_one_that_did_not_is_whole_or_absent(tmp_path):
    with open_inventory(tmp_path / "start", CountingClock()) as inventory:
        inventory.add_site(small_plan())
    points = kill_everywhere("write", tmp_path)
    assert points > 100
    for point in range(1, points + 2):
        place = tmp_path / str(point)
        with open_inventory(place, CountingClock()) as inventory:
            assert inventory.first_broken_row() is None
            rows = [row.what for row in inventory.journal()][1:]
            told = acknowledged(place)
            assert rows[: len(told)] == told
            assert len(rows) - len(told) in (0, 1)
            counted = dict(zip(COUNTS, answers(inventory.path, *COUNTS.values()), strict=True))
            assert counted == {what: rows.count(what) + (what == "site-added") for what in COUNTS}
            assert answers(inventory.path, "SELECT count(*) FROM pragma_foreign_key_check") == [0]
            assert len(inventory.open_steps()) == (rows[-1:] == ["step-intended"])
    print(f"{points} points, nothing lost")  # noqa: T201 - the count tried is to be seen


def test_an_upgrade_cut_off_anywhere_leaves_the_old_version_or_the_new_one(tmp_path):
    with open_inventory(tmp_path / "start", CountingClock()) as inventory:
        inventory.add_site(small_plan())
    scripts = scripts_with_a_next_version(tmp_path / "scripts")
    points = kill_everywhere("upgrade", tmp_path)
    assert points > 10
    seen = set()
    for point in range(1, points + 1):
        place = tmp_path / str(point)
        path = place / "inventory.sqlite3"
        (version,) = answers(path, "SELECT version_num FROM alembic_version")
        tables = answers(path, "SELECT count(*) FROM sqlite_master WHERE name = 'kept'")
        assert (version, tables) in [(NEWEST, [0]), (NEXT, [1])]
        backups = list(place.glob(f"inventory-{NEWEST}-*.sqlite3"))
        for backup in backups:
            assert answers(backup, "PRAGMA quick_check", "SELECT name FROM site") == [
                "ok",
                "Test Lodge",
            ]
        assert backups or version == NEWEST
        seen.add((version, bool(backups)))
        file = open_file(place, CountingClock(), scripts)
        inventory = Inventory(file, CountingClock())
        assert inventory.plan() == small_plan()
        assert inventory.first_broken_row() is None
        inventory.close()
        assert answers(path, "SELECT count(*) FROM kept") == [1]
        assert upgrade.good_backup(path) is not None
    assert seen == {(NEWEST, False), (NEWEST, True), (NEXT, True)}
    print(f"{points} points, every file whole")  # noqa: T201 - the count tried is to be seen


def test_a_first_start_cut_off_anywhere_can_be_done_again(tmp_path):
    (tmp_path / "start").mkdir()
    points = kill_everywhere("upgrade", tmp_path)
    assert points > 30
    for point in range(1, points + 1):
        with open_inventory(tmp_path / str(point), CountingClock()) as inventory:
            inventory.add_site(small_plan())
            assert inventory.plan() == small_plan()
    print(f"{points} points, every start could be done again")  # noqa: T201 - the count tried is to be seen
