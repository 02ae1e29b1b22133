"""What the go-to box knows: every room, unit and job by name."""

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.snapshot import HouseState
from ui.presenters.job_rows import job_title


class PlaceKind(StrEnum):
    """What a place is."""

    ROOM = "room"
    UNIT = "unit"
    JOB = "job"


@dataclass(frozen=True, slots=True)
class Place:
    """Something to go to: `key` is a room's key, a unit's serial, a job's key."""

    kind: PlaceKind
    key: str
    text: str


def places(house: HouseState) -> tuple[Place, ...]:
    """Return all there is to go to: rooms, units, jobs."""
    names = {room.key: room.name for room in house.plan.rooms}
    units = [unit.line for unit in house.units.values()]
    return (
        *(Place(PlaceKind.ROOM, key, name) for key, name in names.items()),
        *(
            Place(PlaceKind.UNIT, u.serial, f"{u.label}, {names.get(u.room, u.room)}")
            for u in units
        ),
        *(
            Place(PlaceKind.JOB, j.key, f"{job_title(j)}, {names.get(j.room, j.room)}, {j.group}")
            for j in house.jobs
        ),
    )


def find_place(among: tuple[Place, ...], typed: str) -> Place | None:
    """Return the place meant: of the same name, else one that begins so, else one that contains it."""
    wanted = typed.strip().casefold()
    if not wanted:
        return None
    names = [(place, place.text.casefold()) for place in among]
    for fits in (wanted.__eq__, lambda n: n.startswith(wanted), lambda n: wanted in n):
        for place, name in names:
            if fits(name):
                return place
    return None
