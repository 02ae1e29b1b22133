"""A program of its own whose children write to an inventory and are killed on the way.

Run by the test beside it: `python -m tests.faults.killed_inventory MODE FOLDER`. For point 1, 2, 3 ... it
copies FOLDER/start to FOLDER/<point>, forks, and has the child do its work there until it comes to that
point of the database's work (a statement, a commit, just after one), where it kills itself with SIGKILL.
The child writes the name of each write that returned to FOLDER/<point>/acknowledged. It ends at the
first point that isn't come to, and prints how many there were.

It forks a warm process, as importing everything anew for each of a hundred points would take minutes.
"""

import os
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from sqlalchemy import Engine, event

from fleet.inventory import sqlite, upgrade
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.opening import open_file
from fleet.model.house import Signature
from fleet.model.journal import StepState
from fleet.model.meeting import Pin
from fleet.shipped import migrations
from tests.inventories import NOON, CountingClock, line, reading, sighting, small_plan, step


def writes(inventory: Inventory) -> Iterator[tuple[str, Callable[[], object]]]:
    """Every kind of write, each under the word of its journal row."""
    yield "sighted", lambda: inventory.save_sighting("S-3", sighting())
    yield "read", lambda: inventory.save_reading(reading("S-3"))
    yield "line-saved", lambda: inventory.save_line(line("U2", "S-2", "loft"), why="placed")
    yield (
        "planned-item-decided",
        lambda: inventory.save_planned_item("S-3", "setting.x", 1, why="asked for", by="A"),
    )
    yield "ticked", lambda: inventory.save_tick("hall", "walk", by="A", said="")
    yield "signed", lambda: inventory.save_signature("hall", Signature("A", "client", NOON))
    yield "left", lambda: inventory.save_as_left("S-3", {"setting.x": 2}, NOON, why="signed")
    yield "evidence-kept", lambda: inventory.save_evidence("lap", "house", {"a": 1})
    yield "step-intended", lambda: inventory.intend(step())
    yield (
        "step-concluded",
        lambda: inventory.conclude(inventory.open_steps()[0].key, StepState.DONE, "read back"),
    )
    yield "certificate-trusted", lambda: inventory.keep(Pin("urn:uuid:1", "ab" * 32, NOON))
    yield "broker-added", lambda: inventory.save_broker("mqtt://192.0.2.1:1883")
    yield "site-added", lambda: inventory.add_site(small_plan("Second Lodge"))
    yield "site-chosen", lambda: inventory.choose_site("Second Lodge")


def write_all(folder: Path, note: Callable[[str], None]) -> None:
    with open_inventory(folder, CountingClock()) as inventory:
        for name, write in writes(inventory):
            write()
            note(name)


def open_and_upgrade(folder: Path, note: Callable[[str], None]) -> None:
    """Open with the scripts that lie in the folder, or with our own."""
    own = folder.parent / "scripts"
    scripts = own if own.is_dir() else migrations()
    open_file(folder, CountingClock(), scripts).close()
    note("upgraded")


WORK = {"write": write_all, "upgrade": open_and_upgrade}


def main(mode: str, folder: Path) -> None:
    point = 0
    killed = True
    while killed:
        point += 1
        place = folder / str(point)
        shutil.copytree(folder / "start", place)
        child = os.fork()
        if child == 0:
            be_killed(WORK[mode], place, point)
        _, status = os.waitpid(child, 0)
        killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
        if not killed and status != 0:
            raise SystemExit(f"point {point}: the child ended with {status}")
    sys.stdout.write(f"{point - 1}\n")


def be_killed(work: Callable[[Path, Callable[[str], None]], None], place: Path, point: int) -> None:
    """Work until the point comes; never return."""
    passed = 0

    def pass_by(*_: object) -> None:
        nonlocal passed
        passed += 1
        if passed == point:
            os.kill(os.getpid(), signal.SIGKILL)

    def note(name: str) -> None:
        with (place / "acknowledged").open("a", encoding="utf-8") as file:
            file.write(name + "\n")
        pass_by()

    event.listen(Engine, "before_cursor_execute", pass_by)
    event.listen(Engine, "commit", pass_by)
    watch_backup(pass_by)
    work(place, note)
    os._exit(0)


def watch_backup(pass_by: Callable[[], None]) -> None:
    """Pass by before the copy, with a half copy on the disk, before its name is given, and after."""
    back_up, sync, private = upgrade.back_up, sqlite._sync, sqlite.make_private

    def watched_back_up(*parts):
        pass_by()
        target = back_up(*parts)
        pass_by()
        return target

    def watched_sync(path):
        pass_by()
        sync(path)
        pass_by()

    def watched_private(path):
        private(path)
        pass_by()

    upgrade.back_up, sqlite._sync = watched_back_up, watched_sync
    sqlite.make_private = watched_private


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
