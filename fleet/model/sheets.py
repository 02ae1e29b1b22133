"""Sheets: what a unit is set to, flat, item by item.

A unit has three sheets: *planned* (what should stand), *found* (what was last read from it) and *as
left* (what stood when it was signed). The keys are the same in code, in `--json` and in records:

    hardware.revision            word; hardware.vendor_id, hardware.class_id, as the unit writes them
    module.type, module.firmware words
    build.version, build.id      words; build.sequence, an integer; build.image_digest, hex
    setting.max_distance_mm, setting.hold_time_s, setting.sensitivity_percent,
    setting.mounting_height_mm, setting.indicator_light; any other as setting.<the unit's own name>
    areas.<area id>.kind         watch, ignore or doorway
    areas.<area id>.label        word
    areas.<area id>.outline      corners in the unit's own view: "x,y x,y x,y ..." in mm
    mount.x_mm, mount.y_mm, mount.heading_mdeg, mount.height_mm, mount.upside_down

A unit doesn't know its mount: it is planned in the schedule, and found where a walk shows it. A walk
shows no height, so that is never found.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import msgspec

from fleet.model.errors import PlanError
from fleet.model.geometry import Outline, Pose

Value = int | str | bool
Sheet = Mapping[str, Value]

AREA_COORDINATE_TOLERANCE_MM = 50
"""A decimetre's half: what a corner is placed to, and less than anything that a body does."""

MOUNT_PLACE_TOLERANCE_MM = 300
"""As far as a fit of walked points may be out on the average and still pass (RMS ≤ 0.30 m)."""

MOUNT_HEADING_TOLERANCE_MDEG = 10_000
"""The turn that shifts a point 1.7 m away, half across a room, by those 0.30 m: common practice."""

MOUNT_HEIGHT_TOLERANCE_MM = 50
"""A coordinate, taken with a tape."""


class AreaKind(StrEnum):
    """What an area is for."""

    WATCH = "watch"
    IGNORE = "ignore"
    DOORWAY = "doorway"


@dataclass(frozen=True, slots=True)
class Area:
    """One floor shape in a unit's view, or on the plan, by the frame of its outline.

    Attributes:
        key: the unit's own id of it.
        label: what people call it.
        kind: what it is for.
        outline_mm: its corners.
    """

    key: str
    label: str
    kind: AreaKind
    outline_mm: Outline


class Standing(StrEnum):
    """How an item stands when planned, found and as left are held against each other.

    `UNREADABLE` covers both what can't be read and what the unit doesn't hold: from outside they look
    the same.
    """

    SAME = "same"
    TO_APPLY = "to apply"
    CHANGED_ON_SITE = "changed on site"
    CONFLICT = "conflict"
    UNREADABLE = "unreadable"
    UNKNOWN = "unknown"


# No dataclass: a house of ten thousand units compares 200,000 items, and making a frozen dataclass takes
# twelve times as long as making one of these (0.71 µs against 0.06 µs, measured), which is most of it.
class Comparison(msgspec.Struct, frozen=True, gc=False):
    """One item of one unit, held against its three sheets; None where a sheet doesn't say."""

    key: str
    planned: Value | None
    found: Value | None
    as_left: Value | None
    standing: Standing


class Take(StrEnum):
    """What a person takes where an item is open."""

    FOUND = "found"
    PLANNED = "planned"
    TYPED = "typed"


@dataclass(frozen=True, slots=True)
class Choice:
    """A person's choice about one item: keep what was found, take the plan's, or another value.

    Attributes:
        take: which.
        by, why: who chose, and the reason.
        value: the value that was typed; None for the other two.
    """

    take: Take
    by: str
    why: str
    value: Value | None = None


def outline_to_text(outline_mm: Outline) -> str:
    """Write an outline as a sheet's value, "x,y x,y ..."."""
    return " ".join(f"{x},{y}" for x, y in outline_mm)


def outline_from_text(text: str) -> Outline:
    """Read a sheet's outline.

    Raises:
        PlanError: the text is no list of integer pairs.
    """
    try:
        pairs = [pair.split(",") for pair in text.split()]
        return tuple((int(x), int(y)) for x, y in pairs)
    except ValueError as reason:
        raise PlanError(
            f"{text[:60]!r} is no outline.", next_step="Write it as x,y pairs in mm."
        ) from reason


def mount_to_items(pose: Pose) -> dict[str, Value]:
    """Lay the way a unit is fixed down as items of a sheet."""
    return {
        "mount.x_mm": pose.x_mm,
        "mount.y_mm": pose.y_mm,
        "mount.heading_mdeg": pose.heading_mdeg,
        "mount.height_mm": pose.height_mm,
        "mount.upside_down": pose.upside_down,
    }


def mount_of(sheet: Sheet) -> Pose:
    """Read the way a unit is fixed from a sheet.

    Raises:
        PlanError: a value of it is missing, or of another kind.
    """
    turned = sheet.get("mount.upside_down")
    if not isinstance(turned, bool):
        raise PlanError("mount.upside_down has to be on or off.")
    x_mm, y_mm = _whole(sheet, "mount.x_mm"), _whole(sheet, "mount.y_mm")
    heading_mdeg, height_mm = _whole(sheet, "mount.heading_mdeg"), _whole(sheet, "mount.height_mm")
    return Pose(x_mm, y_mm, heading_mdeg, turned, height_mm)


def mount_from_walk(pose: Pose) -> dict[str, Value]:
    """Lay down what a walk shows of the way a unit is fixed: all but its height."""
    items = mount_to_items(pose)
    del items["mount.height_mm"]
    return items


def areas_to_items(areas: tuple[Area, ...]) -> dict[str, Value]:
    """Lay areas down as items of a sheet."""
    items: dict[str, Value] = {}
    for area in areas:
        items[f"areas.{area.key}.kind"] = area.kind.value
        items[f"areas.{area.key}.label"] = area.label
        items[f"areas.{area.key}.outline"] = outline_to_text(area.outline_mm)
    return items


def areas_of(sheet: Sheet) -> tuple[Area, ...]:
    """Gather the areas of a sheet, in the order of their keys.

    Raises:
        PlanError: an outline or a kind is not one.
    """
    keys = sorted({_area_key(key) for key in sheet if key.startswith("areas.")})
    return tuple(_area_of(sheet, key) for key in keys)


def _whole(sheet: Sheet, key: str) -> int:
    value = sheet.get(key)
    if isinstance(value, bool) or not isinstance(value, int):
        raise PlanError(f"{key} has to be a whole number.")
    return value


def _area_key(item: str) -> str:
    return item.removeprefix("areas.").rsplit(".", 1)[0]


def _area_of(sheet: Sheet, key: str) -> Area:
    kind = str(sheet.get(f"areas.{key}.kind", AreaKind.WATCH))
    if kind not in set(AreaKind):
        raise PlanError(f"area {key} has the unknown kind {kind!r}.")
    outline = outline_from_text(str(sheet.get(f"areas.{key}.outline", "")))
    return Area(key, str(sheet.get(f"areas.{key}.label", key)), AreaKind(kind), outline)
