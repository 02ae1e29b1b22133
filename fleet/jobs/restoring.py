"""Undo for a unit: what differs from a sheet that was kept of it, as changes to write, and what can't be.

1. Only settings and areas are written. A module and hardware are fitted by hand, a build is installed,
   a mount is of the inventory: where they differ, that is said.
2. A setting that the unit doesn't hold now can't be given to it. One that the kept sheet doesn't name
   stays as it is, and that is said.
3. An area that the kept sheet doesn't know is taken away, if the sheet knows the unit's areas at all.
   One of which no outline was kept can't be laid anew.
4. With another type of module than at that time nothing is written: its settings and areas were another
   module's, and writing them one by one would hide the exchange.
5. What agrees (outlines within 50 mm) is left alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fleet.jobs.comparing import agree
from fleet.model.journal import Change
from fleet.model.sheets import Sheet, Standing, Value
from fleet.model.units import Reading

MODULE_TYPE = "module.type"

_BY_HAND = {
    "hardware": "hardware is fitted by hand",
    "module": "a module is fitted by hand",
    "build": "a build is installed, not written",
    "mount": "a mount is changed on the wall, not in the unit",
}


@dataclass(frozen=True, slots=True)
class Impossible:
    """An item that differs from the kept sheet and can't be written back; None for what no sheet says."""

    key: str
    kept: Value | None
    found: Value | None
    reason: str


Restoring = tuple[tuple[Change, ...], tuple[Impossible, ...]]


def restore_plan(
    reading: Reading,
    sheet: Sheet,
    *,
    label: str = "",
    as_left: Sheet | None = None,
    says_areas: bool | None = None,
) -> Restoring:
    """Return the changes that bring a unit back to a sheet, and what can't be brought back.

    Args:
        reading: the unit as it was just read.
        sheet: to stand afterwards.
        label: of the unit, for the review; its serial where there is none.
        as_left: what it was left with, for the review; None where it never was.
        says_areas: whether an area that isn't in the sheet wasn't there; by default, whether it has any.
    """
    if says_areas is None:
        says_areas = any(key.startswith("areas.") for key in sheet)
    changes: list[Change] = []
    impossible: list[Impossible] = []
    for key in _differing(reading.sheet, sheet):
        kept, found = sheet.get(key), reading.sheet.get(key)
        reason = _obstacle(key, reading.sheet, sheet, says_areas=says_areas)
        if reason:
            impossible.append(Impossible(key, kept, found, reason))
        else:
            left = (as_left or {}).get(key)
            changes.append(_change(reading, label or reading.serial, key, kept, left))
    return tuple(changes), tuple(impossible)


def _differing(found: Sheet, kept: Sheet) -> Iterator[str]:
    for key in sorted({*found, *kept}):
        if not agree(key, kept.get(key), found.get(key)):
            yield key


def _obstacle(key: str, found: Sheet, kept: Sheet, *, says_areas: bool) -> str:
    """Say why an item can't be written back; "" where it can."""
    head = key.partition(".")[0]
    if head not in ("setting", "areas"):
        return _BY_HAND.get(head, "it can't be written")
    types = kept.get(MODULE_TYPE), found.get(MODULE_TYPE)
    if None not in types and types[0] != types[1]:
        return f"it was kept of a {types[0]} module, and a {types[1]} module is fitted now"
    if head == "setting":
        return _setting_obstacle(key, found, kept)
    return _area_obstacle(key, found, kept, says_areas=says_areas)


def _setting_obstacle(key: str, found: Sheet, kept: Sheet) -> str:
    if key not in found:
        return "the unit doesn't hold such a setting now"
    return "" if key in kept else "the kept sheet doesn't name it; it stays as it is"


def _area_obstacle(key: str, found: Sheet, kept: Sheet, *, says_areas: bool) -> str:
    outline = f"{key.rpartition('.')[0]}.outline"
    if key not in kept:
        known = says_areas and outline not in kept
        return "" if known else "the kept sheet doesn't say it; it stays as it is"
    laid = outline in kept or outline in found
    return "" if laid else "no outline of that area was kept"


def _change(
    reading: Reading, label: str, key: str, kept: Value | None, left: Value | None
) -> Change:
    return Change(
        serial=reading.serial,
        label=label,
        key=key,
        as_left=left,
        found=reading.sheet.get(key),
        planned=kept,
        reason="it differs from the sheet that is restored",
        disrupts="presence in the area starts anew" if key.startswith("areas.") else "",
        standing=Standing.TO_APPLY,
    )
