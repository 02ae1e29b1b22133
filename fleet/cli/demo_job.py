"""The whole job on the simulated house, a line a stage: what an installer does, done by the engine."""

import asyncio
import json
import os
from collections.abc import Iterable, Mapping, Sequence

from fleet.cli.demo_start import DemoPlace, demo_visit
from fleet.cli.installer import PlayedVisit
from fleet.cli.saying import say
from fleet.model.findings import Finding, Outcome, RoomResult
from fleet.model.sheets import Standing
from fleet.model.snapshot import HouseState, LinkState
from fleet.record.checking import check
from fleet.record.findings import findings_document

INSTALLER = "Demo installer (invented)"
SCAN_S = 10.0
SILENT_LOOKS, SILENT_LOOK_S = 40, 0.05
WALL_LIMIT_NOTE = "house time runs {speed:g} times as fast as the wall"

Found = dict[tuple[str, str, str], Finding]


async def run_whole_job(place: DemoPlace) -> None:
    """Find, read, compare, put right, walk, sign and hand over; leave `findings.json` and `record/`.

    Raises:
        WalkdownError: a stage couldn't be done.
    """
    place.out.mkdir(parents=True, exist_ok=True)
    async with demo_visit(place) as visit:
        await visit.start()
        try:
            await _stages(place, visit)
        finally:
            await visit.stop()
    used = os.times()
    say(
        f"CPU       engine {used.user + used.system:.1f} s, "
        f"simulated house {used.children_user + used.children_system:.1f} s"
    )


async def _stages(place: DemoPlace, visit: PlayedVisit) -> None:
    site = visit.snapshot().house.plan.site
    invented = "an invented house" if site.demo else "simulated"
    say(f"demo      {site.name}, {invented}; seed {place.seed}; {_clock_note(place.speed)}")
    await _scan(visit)
    found = _collect({}, visit.refresh().findings)
    say(f"compare   {len(found)} findings by reading and comparing")
    await _put_right(visit)
    await _lap(visit)
    found = _collect(found, visit.refresh().findings)
    _write_findings(place, visit.snapshot().house, found)
    await _sign(visit)
    await _hand_over(place, visit)


def _clock_note(speed: float) -> str:
    return WALL_LIMIT_NOTE.format(speed=speed)


async def _scan(visit: PlayedVisit) -> None:
    met = await visit.scan(SCAN_S)
    snapshot = visit.snapshot()
    say(f"scan      {met} of {snapshot.expected} units heard by mDNS and read")
    for trouble in snapshot.house.troubles:
        say(f"          {trouble}")


async def _put_right(visit: PlayedVisit) -> None:
    house = visit.snapshot().house
    for change in house.changes:
        if change.standing is not Standing.TO_APPLY:
            await visit.decide(
                change.serial,
                change.key,
                keep_found=False,
                reason="the demo's installer goes back to the plan",
                by=INSTALLER,
            )
    results = await visit.apply(house.changes, by=INSTALLER)
    say(f"put right {len(house.changes)} items in {len(results)} writes")
    for result in results:
        say(f"          {result.label} {result.part}: {result.state}, {result.said}")


async def _lap(visit: PlayedVisit) -> None:
    rooms = visit.snapshot().house.plan.rooms
    for room in rooms:
        await visit.walk_room(room.key)
    await visit.finish_lap()
    silent = await _silent(visit)
    live = visit.snapshot().live.values()
    reports = sum(unit.reports for unit in live)
    lossy = {unit.serial: unit.lost_ppm for unit in live if unit.lost_ppm}
    say(f"lap       {len(rooms)} rooms, 60 s of house time each; {reports} reports came")
    say(f"          {len(lossy)} units lost numbered reports, {silent} units fell silent")


async def _silent(visit: PlayedVisit) -> int:
    """Count the units that send no reports, and go on sending none for as long as is looked.

    A fast clock makes seconds of house time out of every tenth of a second that this machine is busy, so
    one look alone would take a busy machine for silent units.
    """
    silent = 0
    for _ in range(SILENT_LOOKS):
        units = visit.snapshot().live.values()
        silent = sum(unit.link is not LinkState.LIVE for unit in units)
        if not silent:
            break
        await asyncio.sleep(SILENT_LOOK_S)
    return silent


def _collect(found: Found, findings: Iterable[Finding]) -> Found:
    return found | {(f.room, f.unit, f"{f.kind}{f.evidence.get('item', '')}"): f for f in findings}


def _write_findings(place: DemoPlace, house: HouseState, found: Found) -> None:
    names = {room.key: room.name for room in house.plan.rooms}
    order = {room.key: number for number, room in enumerate(house.plan.rooms)}
    findings = sorted(found.values(), key=lambda f: (order[f.room], f.unit, f.kind))
    document = findings_document(findings, names)
    path = place.out / "findings.json"
    path.write_text(json.dumps(document, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    say(f"findings  {len(findings)} of {len({f.kind for f in findings})} kinds, in {path}")
    for finding in findings:
        unit = f" {finding.unit}" if finding.unit else ""
        say(f"          {names[finding.room]}{unit}: {finding.kind}: {finding.reason}")


async def _sign(visit: PlayedVisit) -> None:
    house = visit.refresh()
    signed, refused = [], []
    for room in house.plan.rooms:
        result = house.rooms[room.key]
        failed = [item.key for item in result.items if item.outcome is Outcome.FAIL]
        if failed:
            refused.append(f"{room.name} ({', '.join(failed)})")
            continue
        await _tick_all(visit, result)
        await visit.sign(
            room.key,
            name=INSTALLER,
            role="installer",
            exceptions=_exceptions(visit.snapshot().house.rooms[room.key]),
        )
        signed.append(room.name)
    say(f"sign-off  {len(signed)} rooms signed with exceptions: {', '.join(signed) or 'none'}")
    say(f"          {len(refused)} left open: {'; '.join(refused) or 'none'}")


async def _tick_all(visit: PlayedVisit, result: RoomResult) -> None:
    for item in result.items:
        if item.evidence == "tick":
            await visit.tick(result.room, item.key, by=INSTALLER, said="done in the demo")


def _exceptions(result: RoomResult) -> Mapping[str, str]:
    return {
        item.key: f"{item.outcome} at this visit, demo"
        for item in result.items
        if item.outcome is not Outcome.PASS and item.evidence != "signature"
    }


async def _hand_over(place: DemoPlace, visit: PlayedVisit) -> None:
    folder = await visit.issue(place.out / "record", by=INSTALLER)
    parts = check(folder).parts
    wrong = [part.name for part in parts if not part.ok]
    say(f"hand over {folder}: {_checked(wrong, [part.name for part in parts])}")


def _checked(wrong: Sequence[str], parts: Sequence[str]) -> str:
    return f"does not match: {', '.join(wrong)}" if wrong else f"checked: {', '.join(parts)}"
