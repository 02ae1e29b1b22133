"""What looks like a swap: told by what units say, and never done without a person's word.

1. *Unit replaced*: another serial. In its place: the unit of the schedule is silent, and a unit that
   nobody scheduled, with a module of the same type, is heard.
2. *Module replaced*: the same serial, and its module has another type, firmware or serial of its own.
3. *Unit and module replaced*: another serial, and another type of module than the line wants.
4. *Factory-reset*: the same serial and module; it was left with areas and holds none, or two settings or
   more differ from what was left and no area stands. Common practice: no unit says that it was reset.
"""

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import urlsplit

from fleet.jobs.comparing import agree
from fleet.model.errors import PlanError
from fleet.model.meeting import Expected, Meeting
from fleet.model.sheets import Sheet
from fleet.model.units import Reading, Unit

FEWEST_CHANGED = 2
_SILENT = (Meeting.NOT_HEARD, Meeting.GONE)
_APART = re.compile(r"[^a-z]")
_MODULE_SERIALS = ("moduleserial", "moduleserialnumber")


class SwapKind(StrEnum):
    """What was exchanged."""

    UNIT = "unit replaced"
    MODULE = "module replaced"
    BOTH = "unit and module replaced"
    RESET = "factory-reset"


@dataclass(frozen=True, slots=True)
class Module:
    """What a unit says of its module; "" for what it doesn't."""

    type: str
    firmware: str
    serial: str = ""


@dataclass(frozen=True, slots=True)
class SwapSign:
    """What looks like a swap.

    Attributes:
        label: whose place it is.
        kind: what seems to have been exchanged.
        serial: who answers there now.
        reason: why it looks so, in one sentence.
    """

    label: str
    kind: SwapKind
    serial: str
    reason: str


def module_of(reading: Reading) -> Module:
    """Return what a reading says of the module."""
    said = reading.sheet.get("module.serial", "")
    for name, value in reading.other.items():
        if _APART.sub("", name.rpartition(".")[2].lower()) in _MODULE_SERIALS:
            said = said or value
    sheet = reading.sheet
    return Module(
        str(sheet.get("module.type", "")), str(sheet.get("module.firmware", "")), str(said)
    )


def module_before(unit: Unit) -> Module:
    """Return the module that a unit was left with, or that is planned for it."""
    left = unit.as_left or {}
    return Module(
        str(left.get("module.type", unit.line.module_type)),
        str(left.get("module.firmware", "")),
        str(left.get("module.serial", "")),
    )


def kind_of(unit: Unit, reading: Reading) -> SwapKind:
    """Say what was exchanged, by what the new one says.

    Raises:
        PlanError: nothing shows that anything was.
    """
    if reading.serial != unit.line.serial:
        other_type = module_of(reading).type != unit.line.module_type
        return SwapKind.BOTH if other_type else SwapKind.UNIT
    if _modules_differ(module_before(unit), module_of(reading)):
        return SwapKind.MODULE
    if looks_reset(reading.sheet, unit.as_left):
        return SwapKind.RESET
    raise PlanError(
        "the same serial answers with the module that it was left with.",
        subject=unit.line.label,
        stands="Nothing was swapped.",
        next_step="Name the new serial, or say that the module was replaced or the unit reset.",
    )


def looks_reset(found: Sheet, as_left: Sheet | None) -> bool:
    """Say whether a unit looks as if it had been reset since it was left."""
    left = as_left or {}
    areas = any(key.startswith("areas.") for key in left)
    if any(key.startswith("areas.") for key in found) or not left:
        return False
    settings = [key for key in left if key.startswith("setting.") and key in found]
    changed = [key for key in settings if not agree(key, left[key], found[key])]
    return len(changed) >= FEWEST_CHANGED or (areas and bool(changed or not settings))


def swap_signs(
    units: Sequence[Unit], unplaced: Sequence[Reading], silent: Collection[str]
) -> tuple[SwapSign, ...]:
    """List what looks like a swap, in the order of the schedule.

    Args:
        units: the schedule's units as they stand.
        unplaced: readings of units that stand in no schedule.
        silent: serials of the schedule that aren't heard now.
    """
    signs: list[SwapSign] = []
    for unit in units:
        if unit.line.serial in silent:
            signs += _in_its_place(unit, unplaced)
        elif unit.found is not None and unit.line.serial:
            signs += _of_itself(unit, unit.found)
    return tuple(signs)


def silent_serials(expected: Iterable[Expected]) -> frozenset[str]:
    """Return the serials of the schedule that weren't heard, or are gone, by the list of a visit."""
    return frozenset(
        one.serial for one in expected if one.state in _SILENT and one.label and one.serial
    )


def _modules_differ(before: Module, now: Module) -> bool:
    """Only what both say can differ."""
    pairs = ((before.type, now.type), (before.firmware, now.firmware), (before.serial, now.serial))
    return any(one and other and one != other for one, other in pairs)


def _in_its_place(unit: Unit, unplaced: Sequence[Reading]) -> Iterable[SwapSign]:
    line = unit.line
    same_kind = [one for one in unplaced if module_of(one).type == line.module_type]
    for one in sorted(same_kind, key=lambda other: not _same_host(unit, other)):
        where = " at its address" if _same_host(unit, one) else ""
        reason = (
            f"{line.serial} is silent, and {one.serial}, which nobody scheduled, answers{where}"
        )
        yield SwapSign(line.label, SwapKind.UNIT, one.serial, reason)


def _same_host(unit: Unit, other: Reading) -> bool:
    host = urlsplit(unit.found.url).hostname if unit.found else None
    return host is not None and host == urlsplit(other.url).hostname


def _of_itself(unit: Unit, found: Reading) -> Iterable[SwapSign]:
    before, now = module_before(unit), module_of(found)
    if _modules_differ(before, now):
        was, is_now = _in_words(before), _in_words(now)
        reason = f"answers with a {is_now} module where a {was} one was left"
        yield SwapSign(unit.line.label, SwapKind.MODULE, found.serial, reason)
    elif looks_reset(found.sheet, unit.as_left):
        reason = "what it was left with is gone, as after a reset"
        yield SwapSign(unit.line.label, SwapKind.RESET, found.serial, reason)


def _in_words(module: Module) -> str:
    firmware = f"firmware {module.firmware}" if module.firmware else ""
    serial = f"number {module.serial}" if module.serial else ""
    return " ".join(part for part in (module.type, firmware, serial) if part)
