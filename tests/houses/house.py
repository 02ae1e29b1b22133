"""A house of a test: what its installer knows and what is so, and how it grows from an empty one.

A house is built in the order of its history: `fitted` hangs faultless units, earlier faults come
next, `visited` writes down what the earlier visit left, and later faults follow.
"""

import hashlib
import json
import random
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import msgspec

from fleet.model.geometry import Point, Pose
from fleet.model.house import (
    ApprovedBuild,
    Floor,
    HousePlan,
    Match,
    MatchWord,
    ModuleType,
    PlannedUnit,
    Room,
    Site,
)
from fleet.model.sheets import Area, AreaKind
from fleet.simulator.truth import TrueBuild, TrueUnit, Truth

T, S, V = ModuleType.TRACKING, ModuleType.STATIC, ModuleType.VITAL
RANGE_MM = {T: 7000, S: 9000, V: 2000}
HALF_VIEW_DEG = {T: 55, S: 45, V: 45}
NOTE = "Invented for demonstration and tests: no such house, people, units or makers exist."


@dataclass(frozen=True, slots=True)
class House:
    """A plan and the truth behind it, and the versions that its units may run, newest first."""

    plan: HousePlan
    truth: Truth
    versions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hung:
    """A unit to be hung: areas are rectangles (label, kind, x0, y0, x1, y1) in its own view."""

    label: str
    room: str
    module_type: ModuleType
    pose: Pose
    areas: tuple[tuple[str, AreaKind, int, int, int, int], ...] = ()
    hold_time_s: int = 30
    max_distance_mm: int = 0


def rectangle(x0: int, y0: int, x1: int, y1: int) -> tuple[Point, ...]:
    """Return the corners counter-clockwise from the least."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def onto_plan(point: Point, pose: Pose) -> Point:
    """Carry a point of a unit's view onto the plan; headings are quarter turns, worked by hand."""
    away = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[pose.heading_mdeg // 1000]
    right = (away[1], -away[0])
    x, y = (-point[0] if pose.upside_down else point[0]), point[1]
    return (
        pose.x_mm + x * right[0] + y * away[0],
        pose.y_mm + x * right[1] + y * away[1],
    )


def fitted(
    site: Site,
    floors: tuple[Floor, ...],
    rooms: tuple[Room, ...],
    hung: tuple[Hung, ...],
    *,
    dice: random.Random,
    hardware: dict[ModuleType, str],
    firmware: dict[ModuleType, str],
    versions: tuple[str, ...],
) -> House:
    """Hang faultless units as planned, with approved builds, each known to match."""
    serials = _serials(len(hung), dice)
    # a tracking unit may be found with a static module in it, so every board knows both
    pairs = sorted({(board, kind) for board in hardware.values() for kind in hardware})
    plan = HousePlan(
        site=site,
        floors=floors,
        rooms=rooms,
        units=tuple(
            _planned(unit, serial, hardware[unit.module_type])
            for unit, serial in zip(hung, serials, strict=True)
        ),
        approved_builds=tuple(_approved(board, kind, versions) for board, kind in pairs),
        matches=tuple(
            Match(board, kind, firmware[kind], versions[0], MatchWord.ALLOWED)
            for board, kind in pairs
        ),
    )
    vendor = _uuid(dice)
    classes = {kind: _uuid(dice) for kind in hardware}
    truth = Truth(
        units=tuple(
            TrueUnit(
                serial=unit.serial,
                room=unit.room,
                pose=unit.pose,
                module_type=unit.module_type,
                hardware_revision=unit.hardware_revision,
                module_firmware=firmware[unit.module_type],
                build=true_build(unit.hardware_revision, unit.module_type, versions, 0),
                settings=unit.settings,
                areas=_seen_areas(wish),
                area_revision=3 if wish.areas else 1,
                signal_dbm=dice.randint(-67, -49),
                vendor_id=vendor,
                class_id=classes[unit.module_type],
                mac=f"02:{dice.randbytes(5).hex(':')}",
            )
            for unit, wish in zip(plan.units, hung, strict=True)
        ),
        note=NOTE,
    )
    return House(plan, truth, versions)


def image_octets(version: str, board: str, kind: ModuleType) -> bytes:
    """Return the octets of an invented image: it says over and over what it is."""
    line = f"Invented image {version} for board {board} and a {kind} module; it runs nowhere.\n"
    return line.encode() * 600


def true_build(board: str, kind: ModuleType, versions: tuple[str, ...], behind: int) -> TrueBuild:
    """Return the image of a version for a board and module; `behind` counts from the newest."""
    digest = hashlib.sha256(image_octets(versions[behind], board, kind)).hexdigest()
    sequence = 40 - 5 * behind
    return TrueBuild(versions[behind], f"{digest[:4]}-{sequence}", sequence, digest)


def _approved(board: str, kind: ModuleType, versions: tuple[str, ...]) -> ApprovedBuild:
    build = true_build(board, kind, versions, 0)
    return ApprovedBuild(
        board, kind, build.version, build.build_id, build.sequence, build.image_digest, versions[1:]
    )


def _planned(unit: Hung, serial: str, board: str) -> PlannedUnit:
    areas = tuple(
        replace(area, outline_mm=tuple(onto_plan(corner, unit.pose) for corner in area.outline_mm))
        for area in _seen_areas(unit)
    )
    settings = {
        "max_distance_mm": unit.max_distance_mm or RANGE_MM[unit.module_type],
        "hold_time_s": unit.hold_time_s,
        "sensitivity_percent": 70,
        "mounting_height_mm": unit.pose.height_mm,
        "indicator_light": False,
    }
    return PlannedUnit(
        unit.label, serial, unit.room, unit.module_type, board, unit.pose, settings, areas
    )


def _seen_areas(unit: Hung) -> tuple[Area, ...]:
    return tuple(
        Area(str(number), label, kind, rectangle(*corners))
        for number, (label, kind, *corners) in enumerate(unit.areas, start=1)
    )


def _serials(count: int, dice: random.Random) -> list[str]:
    signs = "34679ACDEFHJKMNPRTWX"
    batch = "".join(dice.choices(signs, k=2))
    serials: list[str] = []
    while len(serials) < count:
        serial = f"{batch}{dice.randint(10, 99)}-{''.join(dice.choices(signs, k=5))}"
        if serial not in serials:
            serials.append(serial)
    return serials


def _uuid(dice: random.Random) -> str:
    text = dice.randbytes(16).hex()
    return f"{text[:8]}-{text[8:12]}-4{text[13:16]}-a{text[17:20]}-{text[20:]}"


def documents(house: House) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the documents of the plan file and the truth file."""
    return msgspec.to_builtins(house.plan), msgspec.to_builtins(house.truth)


def write_house(folder: Path, plan: dict[str, Any], truth: dict[str, Any]) -> None:
    """Write `plan.json` and `truth.json` into a folder, making it where it isn't there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, document in (("plan.json", plan), ("truth.json", truth)):
        text = json.dumps(document, indent=1, ensure_ascii=False)
        (folder / name).write_text(text + "\n", encoding="utf-8")


def findings(rows: Iterable[tuple[str, str, str]]) -> list[dict[str, str]]:
    """Lay (room, unit, kind) rows out as expected findings."""
    return [{"room": room, "unit": unit, "kind": kind} for room, unit, kind in rows]
