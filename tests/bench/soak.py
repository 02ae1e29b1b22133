"""Many simulated units streamed for minutes: are sender's and receiver's counts equal, is memory flat?

    python -m tests.bench.soak --units 500 --minutes 10

An invented house without faults, its units hung many times over, is served by the simulator in a process of
its own at 10 reports a second and unit, with somebody walking through it. The receiver is the engine's own
`FleetWatch`: every unit met by mDNS, read, its reports and occupancy watched and followed. At the end the
last report number that each unit says it sent is held against the numbers that came.
"""

import argparse
import asyncio
import itertools
import os
import resource
import sys
import tempfile
import time
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.installer import Installer
from fleet.cli.simulated_house import own_address, simulated_house
from fleet.description.values import fields
from fleet.description.vocabulary import REPORT_NUMBER, TARGET_FRAME
from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.simulator.stage_client import StageClient
from fleet.trials.lap import lap_route
from tests.houses.generator import make_house, write_house

PAGE_BYTES = resource.getpagesize()


def many_units(folder: Path, count: int) -> None:
    plan, truth, _ = make_house(1, faults=False)
    pairs = list(zip(plan["units"], truth["units"], strict=True))
    chosen = list(itertools.islice(itertools.cycle(pairs), count))
    plan["units"] = [
        {**planned, "label": f"N{at:04}", "serial": f"NN-{at:05}"}
        for at, (planned, _) in enumerate(chosen)
    ]
    truth["units"] = [
        {**true, "serial": f"NN-{at:05}", "mac": f"02:00:00:00:{at >> 8:02x}:{at & 255:02x}"}
        for at, (_, true) in enumerate(chosen)
    ]
    plan["visits"] = []
    write_house(folder, plan, truth)


def memory_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * PAGE_BYTES / 2**20


async def last_sent(link) -> int:
    affordance = link.need_property(TARGET_FRAME)
    said = fields(affordance.schema, (await link.read(affordance)).value)
    return int(said[REPORT_NUMBER])


class Tally:
    """What came of each unit, by report number: how many, the first, the last, and any gap."""

    def __init__(self) -> None:
        self.first, self.last, self.came, self.gaps = {}, {}, {}, 0
        self.sent, self.caught_up = {}, asyncio.Event()

    def take(self, serial, _received_s, report) -> None:
        before = self.last.get(serial)
        self.first.setdefault(serial, report.number)
        if before is not None and report.number != before + 1:
            self.gaps += 1
        self.last[serial] = report.number
        self.came[serial] = self.came.get(serial, 0) + 1
        if self.sent and self.behind() == 0:
            self.caught_up.set()

    def behind(self) -> int:
        return sum(self.last.get(serial, -1) < number for serial, number in self.sent.items())

    def missing(self) -> int:
        return sum(self.last[s] - self.first[s] + 1 - self.came[s] for s in self.last)


async def soak(units: int, minutes: float) -> int:
    with tempfile.TemporaryDirectory(prefix="walkdown-soak-") as scratch:
        folder, address, clock = Path(scratch), own_address(), real_clock()
        many_units(folder / "house", units)
        inventory = open_inventory(folder / "data", clock)
        async with simulated_house(folder / "house", seed=1, speed=1.0, address=address) as house:
            visit = Visit(
                inventory, clock, interface=address, within=f"{address}/32", at_end=inventory.close
            )
            await visit.start()
            try:
                await visit.add_site(folder / "house" / "plan.json")
                return await watched(visit, house, units, minutes)
            finally:
                await visit.stop()


async def watched(visit, house, units, minutes) -> int:
    began_s = time.monotonic()
    met = await visit.scan(120.0)
    print(f"{met} of {units} units met in {time.monotonic() - began_s:.1f} s", flush=True)
    fleet, tally = visit._fleet, Tally()
    async with StageClient(house.stage_host, house.stage_port) as stage:
        plan = visit.snapshot().house.plan
        routes = {room.key: lap_route(room.outline_mm) for room in plan.rooms}
        strolling = asyncio.ensure_future(Installer(stage, plan).stroll(routes))
        stop = fleet.listen(tally.take)
        usage_s, began_s = time.process_time(), time.monotonic()
        for minute in range(max(1, round(minutes * 2))):
            await asyncio.sleep(30)
            print(
                f"{(minute + 1) / 2:4.1f} min: {sum(tally.came.values()):9} reports, "
                f"{tally.missing()} missing, {memory_mib():.1f} MiB, "
                f"load {os.getloadavg()[0]:.1f}",
                flush=True,
            )
        lasted_s = time.monotonic() - began_s
        cores = (time.process_time() - usage_s) / lasted_s
        tally.sent = {serial: await last_sent(fleet.link_to(serial)) for serial in fleet.serials}
        async with asyncio.timeout(30):
            await tally.caught_up.wait()
        stop()
        strolling.cancel()
        await asyncio.gather(strolling, return_exceptions=True)
    bodies = sum(len(record.tracks.tracks) for record in fleet.records.values())
    print(
        f"{len(tally.last)} units, {sum(tally.came.values())} reports in {lasted_s:.0f} s, "
        f"{tally.gaps} gaps, {tally.missing()} missing by report number, {bodies} bodies followed at "
        f"the end, {100 * cores:.0f} % of a core, {memory_mib():.1f} MiB"
    )
    return int(met != units or tally.missing() > 0)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=500)
    parser.add_argument("--minutes", type=float, default=10.0)
    options = parser.parse_args()
    return asyncio.run(soak(options.units, options.minutes))


if __name__ == "__main__":
    sys.exit(main())
