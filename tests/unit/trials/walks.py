"""Made-up walks: what a unit with a known pose would report of a person on a lap's route."""

import numpy as np

from fleet.model.geometry import Pose
from fleet.model.house import Floor, HousePlan, ModuleType, PlannedUnit, Room, RoomKind, Site
from fleet.numerics.frames import to_sensor
from fleet.trials.lap import ROOM_S, RoomWalk, UnitWindow, lap_route

NEAR_SIDE_MM, BODY_HEIGHT_MM, RATE_HZ = 100.0, 1100, 10
DEN = Room("den", "Den", "g", RoomKind.LIVING, ((0, 0), (4000, 0), (4000, 5000), (0, 5000)))
LOFT = Room(
    "loft", "Loft", "g", RoomKind.OFFICE, ((5000, 0), (8000, 0), (8000, 3000), (5000, 3000))
)
POSES = {"s-den": Pose(0, 2500, 0), "s-loft": Pose(5000, 1500, 0)}


def line(serial, room, upside_down=False):
    pose = POSES[serial]
    pose = pose.mirrored() if upside_down else pose
    return PlannedUnit(serial.upper(), serial, room, ModuleType.TRACKING, "R3", pose)


def plan(*lines):
    return HousePlan(
        Site("Invented", demo=True), (Floor("g", "Ground", 0),), (DEN, LOFT), tuple(lines)
    )


def person_at(stands, times_s):
    """Return (n, 2) where the person is: straight from stand to stand at 1.2 m/s."""
    knots_s, knots = [], []
    for stand in stands:
        knots_s += [stand.from_s, stand.until_s]
        knots += [stand.at_mm, stand.at_mm]
    knots = np.array(knots, dtype=float)
    return np.stack([np.interp(times_s, knots_s, knots[:, axis]) for axis in (0, 1)], axis=1)


def measured(places_mm, pose, rng):
    """Return (n, 2) what a unit reports of somebody at these places: slant, near side, noise."""
    flat = to_sensor(places_mm, pose)
    distance = np.linalg.norm(flat, axis=1)
    slant = np.hypot(distance, pose.height_mm - BODY_HEIGHT_MM) - NEAR_SIDE_MM
    return flat * (slant / distance)[:, None] + rng.normal(0, 40, flat.shape)


def window(places_mm, times_s, pose, rng, seen=None):
    seen = np.ones(len(times_s), dtype=bool) if seen is None else seen
    return UnitWindow(times_s, seen, times_s[seen], measured(places_mm, pose, rng)[seen])


def blind(times_s):
    nobody = np.zeros(len(times_s), dtype=bool)
    return UnitWindow(times_s, nobody, np.empty(0), np.empty((0, 2)))


def walk(room, seeing, seed=1):
    """Return a room's walk in which the units of `seeing` (serial → pose or None) take part."""
    rng = np.random.default_rng(seed)
    times_s = np.arange(0, ROOM_S, 1 / RATE_HZ)
    stands = lap_route(room.outline_mm)
    places_mm = person_at(stands, times_s)
    windows = {
        serial: blind(times_s) if pose is None else window(places_mm, times_s, pose, rng)
        for serial, pose in seeing.items()
    }
    return RoomWalk(room.key, stands, windows)
