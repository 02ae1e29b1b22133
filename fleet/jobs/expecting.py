"""Expected against found: every unit of the schedule, and every other that was heard."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fleet.model.house import HousePlan, PlannedUnit
from fleet.model.meeting import Expected, LockedUnit, Meeting
from fleet.model.snapshot import LinkState


@dataclass(frozen=True, slots=True)
class Met:
    """What was met at this visit.

    Attributes:
        at: serial → address of each unit that was read.
        links: serial → whether its reports arrive.
        left: serials of units that said goodbye, or whose advert went.
        doubles: serial → addresses of further units that say the same serial.
        locked: units that want a password.
        unread: address → why whoever is there couldn't be read.
        known_at: serial → address of units that were read at an earlier time.
    """

    at: Mapping[str, str] = field(default_factory=dict)
    links: Mapping[str, LinkState] = field(default_factory=dict)
    left: frozenset[str] = frozenset()
    doubles: Mapping[str, Sequence[str]] = field(default_factory=dict)
    locked: Sequence[LockedUnit] = ()
    unread: Mapping[str, str] = field(default_factory=dict)
    known_at: Mapping[str, str] = field(default_factory=dict)


def expected_and_found(plan: HousePlan, met: Met) -> tuple[Expected, ...]:
    """Return the list: the schedule in its order, then what nobody scheduled."""
    names = {room.key: room.name for room in plan.rooms}
    scheduled = [_line(unit, names.get(unit.room, unit.room), met) for unit in plan.units]
    serials = {unit.serial for unit in plan.units}
    told = {line.address for line in scheduled if line.state is not Meeting.NOT_HEARD}
    told.update(address for addresses in met.doubles.values() for address in addresses)
    return (
        *scheduled,
        *(
            Expected("", "", serial, address, Meeting.UNEXPECTED, "Place it, or leave it.")
            for serial, address in met.at.items()
            if serial not in serials
        ),
        *(
            Expected("", "", serial, address, Meeting.DOUBLE, _double(serial, met))
            for serial, addresses in met.doubles.items()
            for address in addresses
        ),
        *(
            Expected("", "", "", unit.address, Meeting.LOCKED, _wanted(unit))
            for unit in met.locked
            if unit.address not in told
        ),
        *(
            Expected("", "", "", address, Meeting.HEARD, why)
            for address, why in met.unread.items()
            if address not in told
        ),
    )


def _line(unit: PlannedUnit, room: str, met: Met) -> Expected:
    serial = unit.serial
    if not serial:
        said = "No serial is allotted to it yet."
        return Expected(unit.label, room, "", "", Meeting.NOT_HEARD, said)
    if serial in met.at:
        state, said = _how_met(serial, met)
        return Expected(unit.label, room, serial, met.at[serial], state, said)
    known_at = met.known_at.get(serial, "")
    for locked in met.locked:
        if locked.address == known_at:
            said = _wanted(locked)
            return Expected(unit.label, room, serial, known_at, Meeting.LOCKED, said)
    if known_at and known_at in met.unread:
        why = met.unread[known_at]
        return Expected(unit.label, room, serial, known_at, Meeting.HEARD, why)
    said = f"Last read at {known_at}." if known_at else "It was never read."
    return Expected(unit.label, room, serial, known_at, Meeting.NOT_HEARD, said)


def _how_met(serial: str, met: Met) -> tuple[Meeting, str]:
    """A live stream outranks a goodbye: an advert can be spoofed or lost, reports can't be missed."""
    link = met.links.get(serial, LinkState.NEVER)
    if link in (LinkState.LIVE, LinkState.QUIET):
        return Meeting.MET, ""
    if serial in met.left:
        return Meeting.GONE, "It said goodbye, and no report came since."
    if link is LinkState.GONE:
        return Meeting.GONE, "Its reports have stopped."
    return Meeting.MET, "Read; no report came yet."


def _double(serial: str, met: Met) -> str:
    return f"{met.at.get(serial, 'Another unit')} says {serial} too. Find out which one is meant."


def _wanted(unit: LockedUnit) -> str:
    said = "It wants a password."
    if unit.refused:
        said = "It refused the password that was given."
    elif unit.kept_under:
        said = "It wants a password. The one that is kept for it wasn't for this address."
    return f"{unit.title}: {said}" if unit.title else said
