"""Expected against found: a row for each unit of the schedule, and for each other that was heard."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import urlsplit

from fleet.model.meeting import ChangedCertificate, Expected, LockedUnit, Meeting
from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.fingerprints import without_fingerprints
from ui.presenters.words import count_words

_STATES = {
    Meeting.MET: ItemState.SHOWN,
    Meeting.LOCKED: ItemState.TO_DO,
    Meeting.HEARD: ItemState.LOOK,
    Meeting.GONE: ItemState.LOOK,
    Meeting.NOT_HEARD: ItemState.NOT_TESTED,
    Meeting.UNEXPECTED: ItemState.LOOK,
    Meeting.DOUBLE: ItemState.WRONG,
}
_MISSING = frozenset({Meeting.NOT_HEARD, Meeting.GONE})
_TO_SETTLE = frozenset({Meeting.LOCKED, Meeting.HEARD, Meeting.UNEXPECTED, Meeting.DOUBLE})
_HINTS = {
    Meeting.NOT_HEARD: "Is it powered and on this network? Scan again, or add it by its address.",
    Meeting.GONE: "It was here and said nothing since. Look at its power and its network.",
    Meeting.HEARD: "It advertises, but it can't be read. Scan again, or add it by its address.",
}


class Filter(StrEnum):
    """Which rows are shown."""

    ALL = "All"
    MISSING = "Missing"
    TO_SETTLE = "To settle"


class Step(StrEnum):
    """What can be done about a unit from its row; the first one that it offers is done by Enter."""

    UNLOCK = "Password …"
    CERTIFICATE = "Certificate …"
    SETTLE = "Settle …"
    PLACE = "Place …"
    BLINK = "Blink"
    SHOW = "What it says"


@dataclass(frozen=True, slots=True)
class MeetingRow:
    """One row.

    Attributes:
        key: tells it from every other row.
        head: the label; serial or address of a unit that has none.
        room: the room's name, "" for none.
        below: serial and address, as far as they are known and not the head already.
        said: a sentence where there is something to say.
        word: how far the unit was met; state: the glyph for it.
        serial, address: of the unit, "" where unknown.
        steps: what can be done about it, the likeliest first.
        locked: what wants a secret, where one is wanted.
        changed: what is said of its certificate, where that changed.
    """

    key: str
    head: str
    room: str
    below: str
    said: str
    word: str
    state: ItemState
    serial: str
    address: str
    steps: tuple[Step, ...]
    locked: LockedUnit | None = None
    changed: ChangedCertificate | None = None


def meeting_rows(house: HouseState, which: Filter = Filter.ALL) -> tuple[MeetingRow, ...]:
    """Return the rows of a filter, in the schedule's order, strangers after them."""
    return tuple(_row(house, line) for line in _lines(house) if _kept(line, which))


def filter_words(house: HouseState, which: Filter) -> str:
    """Say a filter with how many rows it leaves: "Missing 2"."""
    return f"{which} {sum(_kept(line, which) for line in _lines(house))}"


def meeting_note(house: HouseState) -> str:
    """Say how far the house was met: "12 of 14 met · 1 wants a password"."""
    lines = _lines(house)
    planned = [line for line in lines if line.label]
    met = sum(line.state is Meeting.MET for line in planned)
    counts = {
        state: sum(line.state is state for line in lines)
        for state in Meeting
        if state is not Meeting.MET
    }
    rest = [f"{_many(state, count)}" for state, count in counts.items() if count]
    return " · ".join([f"{met} of {count_words(len(planned), 'unit')} met", *rest])


def empty_words(house: HouseState, which: Filter) -> str:
    """Say why no row is shown."""
    if which is Filter.MISSING and house.expected:
        return "Nothing is missing: every unit of the schedule was heard."
    if which is Filter.TO_SETTLE and house.expected:
        return "Nothing to settle."
    return (
        "Nothing is on the schedule and nothing was heard yet. Scan, or add a unit by its address."
    )


def step_hint(row: MeetingRow | None) -> str:
    """Say what to do about a row that offers no step."""
    if row is None or row.steps:
        return ""
    return _HINTS.get(Meeting(row.word), "")


def row_words(row: MeetingRow) -> str:
    """Say a whole row in one sentence, for a screen reader."""
    return ", ".join(part for part in (row.head, row.room, row.word, row.below, row.said) if part)


def host_words(address: str) -> str:
    """Return an address as it is read from a ladder: host and port alone."""
    return urlsplit(address).netloc or address


def others_locked(house: HouseState, first: LockedUnit) -> tuple[LockedUnit, ...]:
    """Return the other units that want a secret of the same kind."""
    return tuple(
        unit
        for unit in house.locked
        if unit.key != first.key and set(unit.kinds) & set(first.kinds)
    )


def twins(house: HouseState, serial: str) -> tuple[Expected, ...]:
    """Return every line that says a serial: where two units claim it, both."""
    return tuple(line for line in house.expected if serial and line.serial == serial)


def _lines(house: HouseState) -> tuple[Expected, ...]:
    """Locked units that no line stands for are shown as well: a unit is never left out."""
    known = {line.address for line in house.expected}
    loose = [
        Expected("", "", "", unit.address, Meeting.LOCKED, unit.title)
        for unit in house.locked
        if unit.address not in known
    ]
    return (*house.expected, *loose)


def _kept(line: Expected, which: Filter) -> bool:
    if which is Filter.ALL:
        return True
    return line.state in (_MISSING if which is Filter.MISSING else _TO_SETTLE)


def _row(house: HouseState, line: Expected) -> MeetingRow:
    names = {room.key: room.name for room in house.plan.rooms}
    parts = [part for part in (line.label, line.serial, host_words(line.address)) if part]
    return MeetingRow(
        key="|".join((line.label, line.serial, line.address)),
        head=parts[0] if parts else "unknown",
        room=names.get(line.room, line.room),
        below=" · ".join(parts[1:]),
        said=_said(line),
        word=line.state.value,
        state=_STATES[line.state],
        serial=line.serial,
        address=line.address,
        steps=_steps(house, line),
        locked=_locked(house, line),
        changed=_changed(house, line),
    )


def _said(line: Expected) -> str:
    """The sentence, but where it only says the state's word again."""
    return "" if line.said == f"It {line.state}." else without_fingerprints(line.said)


def _steps(house: HouseState, line: Expected) -> tuple[Step, ...]:
    if line.state is Meeting.DOUBLE:
        return (Step.SETTLE,)
    if _changed(house, line) is not None:
        return (Step.CERTIFICATE,)
    if _locked(house, line) is not None:
        return (Step.UNLOCK,)
    waiting = any(reading.serial == line.serial for reading in house.unplaced)
    if line.serial and waiting:
        return (Step.PLACE, Step.BLINK, Step.SHOW)
    if line.state is Meeting.MET and line.serial:
        return (Step.SHOW, Step.BLINK, Step.PLACE)
    unit = house.units.get(line.serial)
    return (Step.SHOW,) if unit is not None and unit.found is not None else ()


def _locked(house: HouseState, line: Expected) -> LockedUnit | None:
    if line.state is not Meeting.LOCKED:
        return None
    return next((unit for unit in _by_nearness(house.locked, line)), None)


def _changed(house: HouseState, line: Expected) -> ChangedCertificate | None:
    return next((one for one in house.certificates if one.address == line.address), None)


def _by_nearness(locked: Sequence[LockedUnit], line: Expected) -> list[LockedUnit]:
    """Units at the line's address, or whose key holds its serial."""
    return [
        unit
        for unit in locked
        if unit.address == line.address or (line.serial and line.serial in unit.key)
    ]


def _many(state: Meeting, count: int) -> str:
    if state is Meeting.LOCKED and count > 1:
        return f"{count} want a password"
    if state is Meeting.DOUBLE and count > 1:
        return f"{count} say another unit's serial"
    return f"{count} {state}"
