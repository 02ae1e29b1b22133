"""An image over many simulated units, some of which fail at random stages: what becomes of each?

    python -m tests.bench.campaign --units 200 --fault-ppm 20000 --seed 1

The simulator runs in a process of its own; which unit will fail how is known from its ready file alone,
and the campaign never sees it. Each time that the campaign waits at a gate, it is checked that it had to,
and a made-up person goes on with a reason, so that every unit gets its end. At the end each unit is read
once more: it has to answer, and to run the build that the campaign says.

With `--fault-ppm 0 --dwell 0 --size 1000000 --bandwidth-bps 20000000` it measures how long the octets take:
at most 1.3 times what the line alone would need.
"""

import argparse
import asyncio
import contextlib
import json
import sys
import tempfile
import time
from collections import Counter, defaultdict
from pathlib import Path

import msgspec

from fleet.engine.fleet_watch import each_quietly
from fleet.jobs.gates import FAILED, ONE_BY_ONE, OPEN
from fleet.jobs.update_outcomes import StageLimits
from fleet.model.firmware import CampaignState, UpdateState
from fleet.simulator.truth import FirmwareFault
from tests.architecture.source_rules import ROOT
from tests.campaigns import container, house_clock, house_of, shelf_with, site_of
from tests.houses.house import write_house

MOST_OF_THE_LINE = 1.3
LIMITS = StageLimits(
    fetching=120, verifying=60, staged=20, applying=45, rebooting=60, confirming=60
)
STAYS_OLD = frozenset(
    {
        FirmwareFault.CUT_VERIFYING,
        FirmwareFault.CUT_STAGED,
        FirmwareFault.CUT_APPLYING,
        FirmwareFault.CUT_REBOOTING,
        FirmwareFault.CUT_CONFIRMING,
        FirmwareFault.WRONG_DIGEST,
        FirmwareFault.BOOT_FAILED,
        FirmwareFault.NO_SPACE,
    }
)
NEEDS_A_PERSON = frozenset({FirmwareFault.HANG, FirmwareFault.REPORTS_LOST})


@contextlib.asynccontextmanager
async def simulator(folder: Path, options):
    """Run the house in a process of its own; yield serial → (address, fault)."""
    ready = folder / "ready.json"
    words = ["--house", folder / "house", "--seed", options.seed, "--clock", options.speed]
    words += ["--no-mdns", "--ready", ready, "--with-parent"]
    words += ["--firmware-fault-ppm", options.fault_ppm, "--bandwidth-bps", options.bandwidth_bps]
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "fleet.simulator",
        *map(str, words),
        cwd=ROOT,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.DEVNULL,
    )
    try:
        async with asyncio.timeout(60):
            while not ready.exists():  # noqa: ASYNC110 - a file has no event
                await asyncio.sleep(0.05)
        units = json.loads(ready.read_text(encoding="utf-8"))["units"]
        yield {unit["serial"]: (unit["url"], unit["firmware_fault"]) for unit in units}
    finally:
        process.stdin.close()
        with contextlib.suppress(ProcessLookupError):
            process.terminate()
        await process.wait()


def expected_of(fault: str) -> UpdateState:
    """How a unit with a fault has to end."""
    if fault in STAYS_OLD:
        return UpdateState.OLD_BUILD
    return UpdateState.NOT_RECOVERED if fault in NEEDS_A_PERSON else UpdateState.DONE


def gate_was_right(campaign) -> bool:
    """Say whether a campaign that waits at a gate had to, counted by another hand."""
    failed = [one for one in campaign.updates if one.state in FAILED and not one.accepted]
    early = any(one.wave in ONE_BY_ONE for one in failed)
    lost = any(one.state is UpdateState.NOT_RECOVERED for one in failed)
    return early or lost or len(failed) >= 2


def begun_after_the_gate(before, after) -> int:
    """Units that had an end in `after` and waited in `before`, though a gate was between them."""
    waiting = {one.serial for one in before.updates if one.state is UpdateState.WAITING}
    return sum(one.serial in waiting and one.state not in OPEN for one in after.updates)


async def campaign_over(parts, options):
    """Run a campaign to its end; return it, the gates that it waited at, and the seconds it took."""
    campaign = parts.begin(parts.plan(at_once=options.at_once, dwell_s=options.dwell))
    gates, why, began_s = [], "", time.monotonic()
    while campaign.state is not CampaignState.DONE:
        campaign = await parts.run_of(campaign, limits=LIMITS).run(by="Bench", why=why)
        if campaign.state is CampaignState.AT_GATE:
            gates.append((campaign.said, gate_was_right(campaign)))
            print(f"gate: {campaign.said[:150]}", flush=True)
            again = await parts.run_of(campaign, limits=LIMITS).run(by="Bench")
            assert begun_after_the_gate(campaign, again) == 0, "a unit began behind a shut gate"
            campaign, why = again, "made-up: looked into"
    return campaign, gates, time.monotonic() - began_s


async def run(options) -> int:
    with tempfile.TemporaryDirectory(prefix="walkdown-campaign-") as scratch:
        folder = Path(scratch)
        plan, truth = house_of(options.units)
        write_house(folder / "house", msgspec.to_builtins(plan), msgspec.to_builtins(truth))
        shelf, clock = shelf_with(folder, container(options.size)), house_clock(options.speed)
        async with simulator(folder, options) as units:
            urls = [url for url, _ in units.values()]
            async with site_of(folder / "data", plan, urls, clock, shelf) as parts:
                campaign, gates, took_s = await campaign_over(parts, options)
                unread = await each_quietly(list(units), parts.fleet.read_again)
                readings = parts.inventory.readings()
                chained = parts.inventory.first_broken_row() is None
    return report(options, units, campaign, gates, took_s, unread, readings, chained)


def report(options, units, campaign, gates, took_s, unread, readings, chained) -> int:
    rows = defaultdict(list)
    wrong = []
    for update in campaign.updates:
        fault = units[update.serial][1]
        rows[fault or "none", update.state.value].append(update)
        version = readings[update.serial].sheet["build.version"]
        new = update.state is UpdateState.DONE or fault == FirmwareFault.REPORTS_LOST
        if update.state is not expected_of(fault) or version != ("2.1.3" if new else "2.0.4"):
            wrong.append((update.label, fault, update.state.value, version, update.said))
    print(f"\n{'fails how':26} {'units':>5}  {'how they end':18} what stands, for one of them")
    for (fault, state), members in sorted(rows.items()):
        print(
            f"{fault:26} {len(members):5}  {state:18} {members[0].label}: {members[0].said[:110]}"
        )
    counts = Counter(update.state.value for update in campaign.updates)
    least_s = (
        options.units * options.size * 8 / options.bandwidth_bps if options.bandwidth_bps else 0
    )
    print(f"\n{len(campaign.updates)} units in {took_s:.1f} s of the wall, {dict(counts)}")
    print(f"{campaign.said}")
    print(f"{len(gates)} gates, {sum(right for _, right in gates)} of them rightly shut")
    print(f"{len(unread)} units don't answer at the end; journal whole: {chained}")
    if least_s:
        ratio = took_s / least_s
        verdict = "within" if ratio <= MOST_OF_THE_LINE else "OVER"
        print(
            f"the line alone needs {least_s:.1f} s: {ratio:.2f} ×, {verdict} {MOST_OF_THE_LINE} ×"
        )
        if ratio > MOST_OF_THE_LINE:
            wrong.append("slower than the line allows")
    for one in wrong:
        print(f"WRONG: {one}")
    return int(bool(wrong or unread or not chained or not all(right for _, right in gates)))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    add = parser.add_argument
    add("--units", type=int, default=200)
    add("--fault-ppm", type=int, default=20_000)
    add("--seed", type=int, default=1)
    add("--speed", type=float, default=3.0)
    add("--at-once", type=int, default=16)
    add("--dwell", type=int, default=5)
    add("--size", type=int, default=100_000)
    add("--bandwidth-bps", type=int, default=0)
    return asyncio.run(run(parser.parse_args()))


if __name__ == "__main__":
    sys.exit(main())
