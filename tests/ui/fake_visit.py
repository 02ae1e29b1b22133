"""A visit that keeps a house in memory: every operation changes what the next snapshot says."""

import asyncio
from dataclasses import replace

from fleet.engine.applying import StepResult
from fleet.jobs.signing import refuse_unfit_signature
from fleet.model.errors import LinkError, PlanError
from fleet.model.findings import Outcome
from fleet.model.house import HousePlan, Site
from fleet.model.journal import StepState
from fleet.model.meeting import AddressResult
from fleet.model.snapshot import HouseState, OperationView
from tests.ui.fake_updates import FakeUpdates
from tests.ui.invented import BLOCKED, INTERFACES, house_of, snapshot_of

NO_SITE = HouseState(HousePlan(Site("No site yet"), (), ()))


class FakeVisit(FakeUpdates):
    """Stands in for the engine's visit.

    Attributes:
        done: what was asked of it, in order.
        stopped: keys of operations that were asked to stop; `ended` after `stop`.
        met: what a scan comes to; None for every unit of the house.
        secrets: key → what was kept for it.
        all_sites: names of the sites of its inventory.
        opens: the secret that locked units let in.
    """

    def __init__(self, house=None, operations=()):
        super().__init__()
        self.house = house if house is not None else house_of()
        self.done = []
        self.stopped = []
        self.ended = False
        self.met = None
        self.secrets = {}
        self.opens = "right"
        self.all_sites = (self.house.plan.site.name,)
        self.go_on = asyncio.Event()
        self._latest = snapshot_of(self.house, operations=tuple(operations))

    async def start(self):
        self.done.append(("start",))

    async def stop(self):
        self.ended = True

    def snapshot(self):
        return self._latest

    def change(self, house=None, **changes):
        self.house = house or self.house
        self._latest = replace(self._latest, house=self.house, **changes)

    def stop_operation(self, key):
        self.stopped.append(key)
        self.change(operations=())

    async def add_site(self, plan_file):
        self.done.append(("add_site", plan_file))
        self.change(house_of())
        return self.house.plan.site.name

    async def sites(self):
        return self.all_sites

    async def choose_site(self, name):
        self.done.append(("choose_site", name))

    async def scan(self, seconds):
        self.done.append(("scan", seconds))
        return len(self.house.units) if self.met is None else self.met

    async def add_address(self, url):
        raise LinkError("nothing answers there.", subject=url, next_step="Check the address.")

    async def add_addresses(self, text):
        self.done.append(("add_addresses", text))
        return tuple(
            AddressResult(line, "AP99-QQ111")
            if line.endswith("/td")
            else AddressResult(line, said="nothing answers there. Check the address.")
            for line in text.split()
        )

    async def interfaces(self):
        return INTERFACES

    async def listen_on(self, address):
        self.done.append(("listen_on", address))
        if address == "::1":
            raise LinkError("it can't be listened on.", subject=address)
        self.change(interface=address)

    async def diagnose(self):
        self.done.append(("diagnose",))
        return BLOCKED

    async def keep_secret(self, key, secret):
        self.done.append(("keep_secret", key))
        self.secrets[key] = secret
        refused = secret.secret != self.opens
        locked = (replace(u, refused=True) if u.key == key else u for u in self.house.locked)
        self.change(replace(self.house, locked=tuple(u for u in locked if refused or u.key != key)))

    async def send_kept_secret(self, kept_under, key, *, by):
        self.done.append(("send_kept_secret", kept_under, key, by))
        await self.keep_secret(key, self.secrets[kept_under])

    async def forget_secret(self, key):
        self.done.append(("forget_secret", key))

    async def accept_certificate(self, key, *, by, reason):
        self.done.append(("accept_certificate", key, by, reason))
        self.change(replace(self.house, troubles=(), certificates=()))

    async def settle_double(self, serial, address, *, by):
        self.done.append(("settle_double", serial, address, by))

    async def sweep(self, seconds_each):
        self.done.append(("sweep", seconds_each))
        running = OperationView(9, "Sweep of all units", None, can_stop=True)
        for serial in list(self.house.units)[:2]:
            self.go_on.clear()
            self.change(showing=serial, operations=(running,), prompt=f"{serial} shows itself")
            await self.go_on.wait()
            if self.stopped:
                break
        self.change(showing="", operations=(), prompt="")
        return {}

    async def say_seen(self, serial, *, where_planned, by):
        self.done.append(("say_seen", serial, where_planned, by))

    async def write_labels(self, path, *, start_at=1):
        if path.exists():
            raise PlanError("the file is there already.", subject=str(path))
        self.done.append(("write_labels", path, start_at))
        return len(self.house.plan.units)

    async def read_all(self):
        return {}

    async def identify(self, serial, seconds):
        self.done.append(("identify", serial, seconds))

    async def place(self, serial, room, x_mm=None, y_mm=None):
        self.done.append(("place", serial, room, x_mm, y_mm))
        rest = tuple(r for r in self.house.unplaced if r.serial != serial)
        self.change(replace(self.house, unplaced=rest))

    async def decide(self, serial, key, *, keep_found, reason, by, value=None):
        more = () if value is None else (value,)
        self.done.append(("decide", serial, key, keep_found, reason, by, *more))
        if keep_found:
            self._drop({(serial, key)})

    async def apply(self, changes, *, by, why=""):
        more = (why,) if why else ()
        self.done.append(("apply", tuple(change.key for change in changes), by, *more))
        self.change(operations=(OperationView(7, "Apply", 0, "U03 settings", can_stop=True),))
        await self.go_on.wait()
        self.change(operations=())
        self._drop({(change.serial, change.key) for change in changes})
        return tuple(
            StepResult(change.label, "settings", StepState.DONE, "read back") for change in changes
        )

    async def settle(self):
        self.done.append(("settle",))
        self.change(replace(self.house, doubtful=()))
        return (StepResult("U03", "settings", StepState.NOT_DONE, "read back as before"),)

    async def tick(self, room, item, *, by, said=""):
        self.done.append(("tick", room, item, by))
        result = self.house.rooms[room]
        items = tuple(
            replace(i, outcome=Outcome.PASS, reason=said) if i.key == item else i
            for i in result.items
        )
        self._put_room(room, replace(result, items=items))

    async def sign(self, room, *, name, role, exceptions):
        result = self.house.rooms[room]
        refuse_unfit_signature(result, room, name, role, exceptions)
        self.done.append(("sign", room, name, role, dict(exceptions)))
        self._put_room(room, replace(result, signed_by=f"{name}, {role}"))

    async def walk_room(self, room):
        self.done.append(("walk_room", room))
        self.change(prompt="Walk to mark 1 of 5")
        await self.go_on.wait()
        self.change(prompt="")

    async def finish_lap(self):
        self.done.append(("finish_lap",))

    async def issue(self, folder, *, by):
        if folder.exists():
            raise PlanError("the folder is taken.", subject=str(folder), stands="Nothing written.")
        self.done.append(("issue", folder, by))
        return folder

    def _put_room(self, room, result):
        self.change(replace(self.house, rooms={**self.house.rooms, room: result}))

    def _drop(self, keys):
        left = tuple(c for c in self.house.changes if (c.serial, c.key) not in keys)
        self.change(replace(self.house, changes=left))
