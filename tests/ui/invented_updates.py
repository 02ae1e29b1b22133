"""Images, campaigns, kept sheets and swaps of the invented house: all of it made up here."""

from dataclasses import replace
from datetime import date, timedelta

from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.swap_lapses import SwapEvidence
from fleet.jobs.swapping import plan_swap
from fleet.jobs.waves import Candidate, key_of, plan_waves
from fleet.model.findings import Outcome
from fleet.model.firmware import (
    Campaign,
    CampaignState,
    CampaignTerms,
    DriftLine,
    Image,
    ImageLine,
    UpdateStage,
    UpdateState,
    Wave,
)
from fleet.model.house import Signature
from fleet.model.journal import ItemOutcome, OpenStep, StepState, WriteStep
from fleet.model.templates import Level, OriginRow
from fleet.model.units import Reading
from fleet.shelf.trust import TrustWord
from tests.ui.invented import AT, URL, house_of

IMAGE = Image(
    version="2.1.3",
    build_id="2.1.3-b7",
    sequence=40,
    vendor_id="7d8c0f1a-0000-4000-8000-000000000001",
    class_id="7d8c0f1a-0000-4000-8000-000000000002",
    hardware_revisions=("H4", "H6"),
    module_types=("static", "tracking", "vital-sign"),
    module_firmwares=("3.7", "5.2", "1.4"),
    sha256="4f1c" * 16,
    size_bytes=1_048_576,
    file="all-2.1.3.bin",
    notes="Holds presence through a restart of the network. Nothing else is changed.",
    support_ends=date(2029, 6, 30),
)
OLD_IMAGE = replace(
    IMAGE,
    version="1.9.0",
    sequence=32,
    file="all-1.9.0.bin",
    support_ends=date(2026, 1, 31),
    notes="",
)
KEY = " ".join(["9b02", "51c7", "e08d", "3fa6"] * 4)
SHELF = (
    ImageLine(IMAGE, True, "It is as its maker signed it.", KEY),
    ImageLine(OLD_IMAGE, False, "Its octets aren't those that were signed: don't use it.", ""),
)
DRIFTS = {
    "U03": ("1.9.0", "behind by 2", "two builds lie between"),
    "U05": ("1.8.0", "behind by 2", "two builds lie between"),
    "U07": ("2.2.0", "ahead", "it is newer than the approved one"),
    "U09": ("2.1.3", "wrong hardware", "a static module answers where a tracking one is planned"),
    "U12": ("2.1.3", "support ended", "its maker mended 2.1.3 until 2026-01-31"),
    "U14": ("", "unknown build", "it was never read"),
}
LOST = (
    "no report for 5 min after it was told to install. Nothing more is sent to it. Switch its power off "
    "and on and wait two minutes: it should come back with one of both builds. Then resume, and it is read "
    "first; if it stays away, fit another unit"
)


TRUSTED_KEY = TrustWord(
    KEY, True, "A. Fitter", "compared with its maker by phone", AT - timedelta(days=83)
)
OTHER_KEY = TrustWord(
    " ".join(["00ff", "7d31", "c6b2", "48e9"] * 4),
    False,
    "A. Fitter",
    "the stick with the key was stolen",
    AT - timedelta(days=12),
)
NEWCOMER = Reading(
    "AP77-NEWON",
    "http://127.0.0.1:8016/td",
    "A unit out of its box",
    {
        "hardware.revision": "H4",
        "module.type": "tracking",
        "module.firmware": "5.3",
        "build.version": "2.1.3",
        "setting.max_distance_mm": 5000,
        "setting.hold_time_s": 15,
        "setting.sensitivity_percent": 50,
    },
    AT,
    capabilities={"max_range_mm": 6000, "max_areas": 1},
)
"""Holds fewer areas than the living room has, fewer settings, and reaches less far."""


NEWER = ("U07", "U12")


def running_newer(house=None):
    """The same house in which some units run a newer build than any on the shelf."""
    house = house or house_of()
    units = {
        serial: replace(
            unit,
            found=replace(
                unit.found,
                sheet={**unit.found.sheet, "build.version": "2.2.0", "build.sequence": 44},
            ),
        )
        if unit.line.label in NEWER
        else unit
        for serial, unit in house.units.items()
    }
    return replace(house, units=units)


def with_newcomer(house=None):
    """The same house in which a new tracking unit has no place yet, and the living room was shown."""
    house = house or house_of()
    result = house.rooms["living-room"]
    items = tuple(
        replace(item, outcome=Outcome.PASS, reason="A. Fitter saw it")
        if item.key in ("walk", "as-fitted-photo")
        else item
        for item in result.items
    )
    rooms = {**house.rooms, "living-room": replace(result, items=items)}
    return replace(house, unplaced=(NEWCOMER, *house.unplaced), rooms=rooms)


def swap_of(house, label, serial, **more):
    """A real swap of the invented house: its room was walked, a photograph taken, and signed for."""
    unit = next(unit for unit in house.units.values() if unit.line.label == label)
    found = [one.found for one in house.units.values() if one.found is not None]
    reading = next(one for one in (*house.unplaced, *found) if one.serial == serial)
    room = next(room for room in house.plan.rooms if room.key == unit.line.room)
    evidence = SwapEvidence(
        rooms=house.plan.rooms,
        walked_at={room.key: "2026-09-03T09:30:00Z"},
        seen_ppm={room.key: 870_000},
        fit="0.27 m RMS as planned",
        lost_ppm=1000,
        result=house.rooms[room.key],
        ticked_at={"as-fitted-photo": AT - timedelta(days=83)},
        signatures=(Signature("C. Lient", "client", AT - timedelta(days=83)),),
    )
    return plan_swap(unit, reading, room, evidence, **more)


PARTLY_STEP = WriteStep(
    "AP14-RPATJ",
    "U03",
    URL,
    "settings",
    {
        "setting.hold_time_s": 120,
        "setting.sensitivity_percent": 66,
        "setting.max_distance_mm": 5000,
    },
    {"setting.hold_time_s": 30, "setting.sensitivity_percent": 55, "setting.max_distance_mm": 4500},
)
PARTLY_ITEMS = (
    ItemOutcome("setting.hold_time_s", StepState.DONE, 120, 120),
    ItemOutcome("setting.sensitivity_percent", StepState.NOT_DONE, 66, 55),
    ItemOutcome("setting.max_distance_mm", StepState.PARTLY, 5000, 4800),
)


def partly_done(house=None):
    """The same house with a write of which only some stands."""
    house = house or house_of()
    unit = house.units[PARTLY_STEP.serial]
    sheet = {**unit.found.sheet, **{item.key: item.found for item in PARTLY_ITEMS}}
    units = {
        **house.units,
        PARTLY_STEP.serial: replace(unit, found=replace(unit.found, sheet=sheet)),
    }
    step = OpenStep("step-41", PARTLY_STEP, AT, StepState.PARTLY, "only some of it stands")
    return replace(house, units=units, unfinished=(step,))


def drifting(house=None):
    """The same house with builds that stand apart in every way."""
    house = house or house_of()
    lines = []
    for unit in house.units.values():
        runs, word, reason = DRIFTS.get(
            unit.line.label, ("2.1.3", "current", "it is the approved one")
        )
        read_at = None if word == "unknown build" else AT
        lines.append(
            DriftLine(
                unit.line.serial,
                unit.line.label,
                unit.line.room,
                runs,
                "2.1.3",
                word,
                reason,
                read_at,
            )
        )
    return replace(house, drift=tuple(lines))


def updates_of(house, bench=("U07",)):
    """Every unit of the house in the order of its turn."""
    kinds = {room.key: room.kind for room in house.plan.rooms}
    candidates = [
        Candidate(
            u.line.serial,
            u.line.label,
            key_of(u.found.sheet),
            "" if u.line.label in bench else u.line.room,
            kinds[u.line.room],
        )
        for u in house.units.values()
    ]
    return plan_waves(candidates, bench)


def under_way(house=None, state=CampaignState.RUNNING):
    """The same house in the middle of a campaign: early waves passed, one unit away, one lost."""
    house = drifting(house)
    updates, seen = [], 0
    for update in updates_of(house):
        if update.wave in (Wave.BENCH, Wave.ONE_A_KEY):
            said = "runs 2.1.3 (sequence 40), confirmed; 5 settings and 1 area read back as found"
            updates.append(
                replace(update, state=UpdateState.DONE, said=said, done_ppm=1_000_000, took_s=190)
            )
            continue
        seen += 1
        updates.append(_later(update, seen))
    said = "" if state is CampaignState.RUNNING else "a unit isn't recovered"
    campaign = Campaign(
        3,
        IMAGE,
        state,
        tuple(updates),
        "A. Fitter",
        said,
        CampaignTerms(shelf="/media/stick/shelf"),
    )
    return replace(house, campaign=campaign)


def _later(update, number):
    if number == 1:
        return replace(
            update,
            state=UpdateState.RUNNING,
            stage=UpdateStage.SENDING,
            done_ppm=310_000,
            left_s=131,
            said="310 of 1,024 KiB sent",
        )
    if number == 2:
        return replace(update, state=UpdateState.NOT_RECOVERED, said=LOST, took_s=600)
    if number == 3:
        return replace(
            update,
            state=UpdateState.OLD_BUILD,
            said="it refused the digest. It runs its old build 1.9.0, settings and areas as found",
            took_s=80,
        )
    return update


def kept_of(house, serial):
    """Three sheets of a unit: as found in spring, as left, as found now."""
    unit = house.units[serial]
    found = unit.found.sheet
    mount = {key: value for key, value in found.items() if key.startswith("mount.")}
    left = {**mount, **dict(unit.as_left or {})}
    spring = {**left, "setting.hold_time_s": 15, "build.version": "1.7.0"}
    return (
        KeptSheet(
            "sheet-3",
            "as found",
            AT - timedelta(days=200),
            "first reading of a visit",
            spring,
            True,
        ),
        KeptSheet(
            "sheet-9", "as left", AT - timedelta(days=83), "signed by the client", left, True
        ),
        KeptSheet(
            "sheet-17", "as found", AT, "first reading of a visit", dict(unit.found.sheet), True
        ),
    )


ORIGINS = (
    OriginRow(
        "build.version", "2.1.3", Level.SITE, "site, the build approved for H4 with static modules"
    ),
    OriginRow(
        "setting.hold_time_s",
        30,
        Level.UNIT,
        "unit U03, decided by A. Fitter because the client asked for it",
        "the client asked for it",
        ((45, "room living-room, static modules"), (60, "room kind living")),
    ),
    OriginRow(
        "setting.indicator_light",
        False,
        Level.ROOM_KIND,
        "room kind living",
        "a light disturbs there",
    ),
    OriginRow("setting.sensitivity_percent", None, Level.UNIT, "unit U03, decided by A. Fitter"),
    OriginRow(
        "setting.max_distance_mm", 6000, Level.ROOM, "room living-room", "as far as the far wall"
    ),
)
