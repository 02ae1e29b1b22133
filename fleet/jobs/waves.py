"""In which order the units of a fleet get an image, and which of them at the same time.

1. *Bench*: units that lie on the bench, one after another. Where none does, the least critical unit.
2. *One of each kind*: of every key (hardware revision, module type, module firmware) that is left, the
   least critical unit, one after another: what was never tried on a kind is tried on one of it first.
3. *A quarter at most*: of what is left, rounded down, but one at least.
4. *The rest*.

Least critical is whose room misses it least: first a room in which another unit goes on sensing, then by
the kind of room: garage, office, living room, kitchen, bedroom, bathroom, and halls and stairs last. In
a garage or an office the light can be switched by hand and few are there at night; on stairs and in a
wet bathroom whoever stands in the dark may trip. It is a rule of thumb of ours (no source).

At the same time only units of different rooms are away, so that no room goes blind.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from fleet.model.firmware import UnitUpdate, Wave
from fleet.model.house import RoomKind
from fleet.model.sheets import Sheet

QUARTER = 4
ONE_BY_ONE = (Wave.BENCH, Wave.ONE_A_KEY)
"""Waves whose units go one after another, so that the first failure is the only one."""

_MISSED_LEAST = (
    RoomKind.GARAGE,
    RoomKind.OFFICE,
    RoomKind.LIVING,
    RoomKind.KITCHEN,
    RoomKind.BEDROOM,
    RoomKind.BATHROOM,
    RoomKind.CIRCULATION,
)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A unit that is to get an image.

    Attributes:
        serial, label: which.
        key: as `key_of` gives it.
        room: key of its room; "" for none, as on the bench.
        room_kind: what that room is used as; None for no room.
    """

    serial: str
    label: str
    key: str
    room: str = ""
    room_kind: RoomKind | None = None


def key_of(sheet: Sheet) -> str:
    """Return the kind of a unit: hardware revision, module type, module firmware, joined by a space."""
    items = ("hardware.revision", "module.type", "module.firmware")
    return " ".join(str(sheet.get(item, "?")) for item in items)


def plan_waves(candidates: Sequence[Candidate], bench: Collection[str]) -> tuple[UnitUpdate, ...]:
    """Put units in the order of their turn.

    Args:
        candidates: all that are to get the image, in the order of the schedule.
        bench: labels of those that lie on the bench; none makes the least critical one go first.
    """
    left = _least_critical_first(candidates)
    first = [one for one in left if one.label in bench] or left[:1]
    left = _without(left, first)
    kinds = list({one.key: one for one in reversed(left)}.values())[::-1]
    left = _without(left, kinds)
    quarter = left[: max(1, len(left) // QUARTER)]
    rest = left[len(quarter) :]
    waves = zip(Wave, (first, kinds, quarter, rest), strict=True)
    return tuple(_update(one, wave) for wave, members in waves for one in members)


def next_units(
    waiting: Iterable[UnitUpdate], away: Collection[UnitUpdate], at_once: int
) -> tuple[UnitUpdate, ...]:
    """Return which units of a wave may begin now.

    Args:
        waiting: those of the wave that haven't begun, in the order of their turn.
        away: those that are being updated.
        at_once: how many may be; in the first two waves it is one.
    """
    rooms = {update.room for update in away if update.room}
    chosen: list[UnitUpdate] = []
    for update in waiting:
        most = 1 if update.wave in ONE_BY_ONE else at_once
        if len(away) + len(chosen) >= most:
            break
        if update.room not in rooms:
            chosen.append(update)
            rooms |= {update.room} - {""}
    return tuple(chosen)


def _least_critical_first(candidates: Sequence[Candidate]) -> list[Candidate]:
    """Return units by how little their rooms miss them; equal ones in the order of the schedule."""
    units_in = Counter(one.room for one in candidates if one.room)
    kinds = (None, *_MISSED_LEAST)

    def rank(one: Candidate) -> tuple[bool, int]:
        return units_in[one.room] == 1, kinds.index(one.room_kind)

    return sorted(candidates, key=rank)


def _without(left: Sequence[Candidate], taken: Collection[Candidate]) -> list[Candidate]:
    return [one for one in left if one not in taken]


def _update(one: Candidate, wave: Wave) -> UnitUpdate:
    return UnitUpdate(one.serial, one.label, one.key, wave, room=one.room)
