"""A program of its own whose children apply, restore and settle, and are killed on the way.

Run by the test beside it: `python -m tests.faults.walked_apply`. Each line of standard input is a task as
JSON: {"work", "place", "urls", "point"}. For each it forks a warm process (importing everything anew for
hundreds of points would take many minutes), has the child do the work in the folder `place`, says the
child's pid in a line, and, once the child ended, how it ended. What the child found lies in
place/result.json; the rows of the journal that returned to it lie in place/acknowledged.

`point` counts the moments of the child's own: before and after each intent, write, outcome and whole
reading, and just before the database commits it (the statements within are `killed_inventory`'s matter).
At that one it kills itself with SIGKILL; at 0 it never does. Moments of requests are the gate's
(`walked_units`).
"""

import asyncio
import contextlib
import gc
import http.client
import json
import os
import signal
import sys
from collections import Counter
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from sqlalchemy import Engine, event

from fleet.cli.clocks import real_clock
from fleet.description.profiles import read_profile
from fleet.description.things import Affordance
from fleet.description.vocabulary import AREA_SET, SETTINGS
from fleet.engine.apply_run import Hands, apply_changes
from fleet.engine.meeting import BY_PROFILE, acquaintance_with
from fleet.engine.reading import read_unit
from fleet.engine.restoring import chosen_sheet, restore_unit
from fleet.engine.secrets import Secrets
from fleet.engine.settling import Remedy, put_right, settle_all
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.jobs.comparing import agree
from fleet.link.unit_link import UnitLink
from fleet.model.journal import Change
from fleet.model.units import Sighting
from fleet.shipped import resources
from tests.faults.walked_units import FIRST, SECOND
from tests.inventories import small_plan
from tests.peers.scattered_server import PLATE

PROFILE = resources() / "profiles" / "scattered-polling.json"
PAUSES_S = (0.0, 0.02)
TYPES_WHOLE = {SETTINGS, AREA_SET}
WANTED: Mapping[str, Mapping[str, Any]] = {
    FIRST: {
        "setting.hold_time_s": 45,
        "setting.max_distance_mm": 5000,
        "areas.1.outline": "-500,500 1500,500 1500,2500 -500,2500",
        "areas.2.kind": "watch",
        "areas.2.label": "Desk",
        "areas.2.outline": "-2000,1000 -1200,1000 -1200,2000 -2000,2000",
    },
    SECOND: {"setting.hold_time_s": 60},
    PLATE: {
        "setting.max_distance_mm": 5000,
        "setting.hold_time_s": 60,
        "areas.1.outline": "1500,3500 2500,3500 2500,4500 1500,4500",
    },
}
RESTORED = (FIRST, PLATE)


class Moments:
    """Counts the child's own moments and kills it at the one that is meant."""

    def __init__(self, place: Path, point: int) -> None:
        self.place, self.point = place, point
        self.armed, self.phase, self.passed = False, "between steps", Counter[str]()

    def pass_by(self, moment: str) -> None:
        if not self.armed:
            return
        name = f"{self.phase}: {moment}"
        self.passed[name] += 1
        if self.passed.total() == self.point:
            (self.place / "killed-at").write_text(name, encoding="utf-8")
            os.kill(os.getpid(), signal.SIGKILL)

    def acknowledge(self, name: str) -> None:
        with (self.place / "acknowledged").open("a", encoding="utf-8") as file:
            file.write(name + "\n")

    def arm(self, url: str) -> None:
        connection = http.client.HTTPConnection(urlsplit(url).netloc)
        connection.request("POST", "/arm")
        self.armed = connection.getresponse().status == http.client.NO_CONTENT
        connection.close()

    def watch(self) -> None:
        event.listen(Engine, "commit", lambda *_: self.pass_by("commit"))
        Inventory.intend = self._around(Inventory.intend, "intent", acknowledged=True)
        Inventory.conclude = self._around(Inventory.conclude, "outcome", acknowledged=True)
        Inventory.save_reading = self._around(Inventory.save_reading, "whole reading")
        UnitLink.write = self._around_write(UnitLink.write)

    def _around(self, work: Callable[..., Any], phase: str, *, acknowledged: bool = False):
        def watched(*parts: Any, **more: Any) -> Any:
            self.phase = phase
            self.pass_by("before")
            answer = work(*parts, **more)
            if acknowledged and self.armed:
                self.acknowledge(f"{phase} {answer or parts[1]}")
            self.pass_by("after")
            self.phase = "between steps"
            return answer

        return watched

    def _around_write(self, work: Callable[..., Awaitable[None]]):
        async def watched(link: UnitLink, affordance: Affordance, *parts: Any) -> None:
            # A value that is taken part by part comes through here again with each part.
            if affordance.name in link.thing.properties and not TYPES_WHOLE & set(affordance.types):
                await work(link, affordance, *parts)
                return
            self.phase = "write"
            self.pass_by("before")
            await work(link, affordance, *parts)
            self.pass_by("after")
            self.phase = "between steps"

        return watched


@contextlib.asynccontextmanager
async def working(place: Path, urls: Mapping[str, str]) -> AsyncIterator[Hands]:
    """Open the inventory and the ways to the units, as a visit does, but watch nothing."""
    clock = real_clock()
    with open_inventory(place, clock) as inventory:
        profiles = [read_profile(PROFILE.read_bytes(), PROFILE.name)]
        acquaintance = acquaintance_with(inventory, Secrets(None), clock, profiles)
        try:
            links = {
                serial: await acquaintance.link_behind(
                    Sighting(
                        serial,
                        url,
                        clock.now(),
                        service_type=f"{BY_PROFILE}scattered-polling" if serial == PLATE else "",
                    )
                )
                for serial, url in urls.items()
            }

            async def read_again(serial: str) -> None:
                reading = await read_unit(links[serial], urls[serial], clock)
                assert reading.serial == serial
                inventory.save_reading(reading)

            yield Hands(inventory, links.__getitem__, read_again, PAUSES_S)
        finally:
            await acquaintance.close()


def changes_of(hands: Hands) -> list[Change]:
    """Return what isn't as wanted yet, by the last reading of each unit."""
    readings = hands.inventory.readings()
    return [
        Change(serial, serial, key, None, readings[serial].sheet.get(key), value, "wanted")
        for serial, items in WANTED.items()
        for key, value in items.items()
        if not agree(key, value, readings[serial].sheet.get(key))
    ]


async def prepare(hands: Hands) -> None:
    hands.inventory.add_site(small_plan())
    for serial in WANTED:
        await hands.read_again(serial)


async def apply(hands: Hands) -> None:
    await apply_changes(hands, changes_of(hands), by="test")


async def restore(hands: Hands) -> None:
    for serial in RESTORED:
        kept = chosen_sheet(hands.inventory.sheets_of_unit(serial), "as-found")
        done = await restore_unit(hands, serial, kept, by="test")
        assert done.impossible == ()


async def settle(hands: Hands, remedy: Remedy, go_on: Callable[[Hands], Awaitable[None]]):
    """Start anew: settle by reading, put right what is partly done, then do what is left."""
    inventory = hands.inventory
    doubtful = len(inventory.open_steps())
    settled = await settle_all(inventory, hands.link_to)
    known = Counter(
        row.detail["state"] for row in inventory.journal() if row.what == "step-concluded"
    )
    still_open, unfinished = len(inventory.open_steps()), inventory.unfinished_steps()
    remedied = [
        await put_right(
            inventory, hands.link_to(one.step.serial), one, remedy, by="test", pauses_s=PAUSES_S
        )
        for one in unfinished
    ]
    for serial in WANTED:
        await hands.read_again(serial)
    await go_on(hands)
    return {
        "known": known,
        "doubtful": doubtful,
        "settled": [result.state.value for result in settled],
        "said": [result.said for result in settled],
        "open": still_open,
        "unfinished": len(unfinished),
        "remedied": [result.state.value for result in remedied],
        "left": len(inventory.open_steps()) + len(inventory.unfinished_steps()),
        "broken": inventory.first_broken_row(),
        "unaccounted": inventory.unaccounted(),
        "journal": [
            [row.what, row.detail.get("step", f"step-{row.number}"), row.detail.get("state", "")]
            for row in inventory.journal()
            if row.what.startswith("step-")
        ],
        "sheets": {serial: dict(r.sheet) for serial, r in inventory.readings().items()},
    }


WORK = {"prepare": prepare, "apply": apply, "restore": restore}


async def be_killed(task: Mapping[str, Any]) -> Any:
    place, urls = Path(task["place"]), task["urls"]
    moments = Moments(place, task["point"])
    if task["work"] in ("apply", "restore"):
        moments.watch()
    async with working(place, urls) as hands:
        if task["work"].startswith("settle"):
            _, work, remedy = task["work"].split(" ", 2)
            return await settle(hands, Remedy(remedy), WORK[work])
        if task["work"] in ("apply", "restore"):
            moments.arm(urls[FIRST])
        await WORK[task["work"]](hands)
        return moments.passed


def do(task: Mapping[str, Any]) -> int:
    """Do a task and keep what came of it; return the exit status."""
    try:
        result = json.dumps(asyncio.run(be_killed(task)))
    except BaseException:  # noqa: BLE001 - the parent is told by the status, the person by the trace
        sys.excepthook(*sys.exc_info())
        sys.stderr.flush()
        return 1
    Path(task["place"], "result.json").write_text(result, encoding="utf-8")
    return 0


def say(number: int) -> None:
    sys.stdout.write(f"{number}\n")
    sys.stdout.flush()


def main() -> None:
    for line in sys.stdin:
        task = json.loads(line)
        if task["work"] == "prepare":  # in this process, so that the children find it warm
            say(os.getpid())
            say(do(task))
            continue
        gc.freeze()
        child = os.fork()
        if child == 0:
            gc.disable()  # a child lives for a moment, and a sweep would copy all that it shares
            os._exit(do(task))
        say(child)
        _, status = os.waitpid(child, 0)
        say(os.waitstatus_to_exitcode(status))


if __name__ == "__main__":
    main()
