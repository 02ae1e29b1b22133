"""A house of two rooms and three units, and how to run it at twenty times its speed.

Study 0 to 4000 by 0 to 5000, passage 4120 to 6120 by 0 to 5000; a door between them at y 2000 to 2900.
"""

import asyncio
import time
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime

import aiohttp

from fleet.model.clock import HouseClock
from fleet.model.geometry import Pose, Segment
from fleet.model.house import Floor, HousePlan, ModuleType, Room, RoomKind, Site
from fleet.model.sheets import Area, AreaKind
from fleet.simulator.running import running_house
from fleet.simulator.truth import TrueBuild, TrueUnit, Truth

SPEED = 20.0
PATIENCE_S = 10
BUILD = TrueBuild("1.2.0", "b-12", 12, "ab" * 32)
SETTINGS = {
    "max_distance_mm": 7000,
    "hold_time_s": 5,
    "sensitivity_percent": 60,
    "indicator_light": True,
    "warm_up_s": 3,
    "night_mode": False,
    "site_note": "by the window",
}
DESK = Area("1", "Desk", AreaKind.WATCH, ((-500, 1000), (500, 1000), (500, 2000), (-500, 2000)))
FROM_STUDY = Segment((4000, 2000), (4000, 2900))
FROM_PASSAGE = Segment((4120, 2000), (4120, 2900))

PLAN = HousePlan(
    Site("Two Rooms", demo=True),
    (Floor("ground", "Ground floor", 0), Floor("first", "First floor", 1)),
    (
        Room(
            "study",
            "Study",
            "ground",
            RoomKind.OFFICE,
            ((0, 0), (4000, 0), (4000, 5000), (0, 5000)),
            (FROM_STUDY,),
        ),
        Room(
            "passage",
            "Passage",
            "ground",
            RoomKind.CIRCULATION,
            ((4120, 0), (6120, 0), (6120, 5000), (4120, 5000)),
            (FROM_PASSAGE,),
        ),
    ),
)

TRACKING = TrueUnit(
    "TR-1",
    "study",
    Pose(2000, 0, 90_000, height_mm=1100),
    ModuleType.TRACKING,
    "H4",
    "5.2",
    BUILD,
    SETTINGS,
    (DESK,),
    3,
    vendor_id="3f2c1f0e-1111-4b7a-9a53-0a8d3f4f2b10",
    class_id="3f2c1f0e-2222-4b7a-9a53-0a8d3f4f2b10",
    mac="02:00:00:00:00:01",
)
STATIC = replace(
    TRACKING,
    serial="ST-2",
    room="passage",
    pose=Pose(5120, 0, 90_000, height_mm=1100),
    module_type=ModuleType.STATIC,
    areas=(),
    settings={"max_distance_mm": 9000},
)
VITAL = replace(
    STATIC,
    serial="VI-3",
    room="study",
    pose=Pose(0, 2500, 0, height_mm=1100),
    module_type=ModuleType.VITAL,
    settings={"max_distance_mm": 2000},
)
TRUTH = Truth((TRACKING, STATIC, VITAL))


def fast_clock(speed: float = SPEED) -> HouseClock:
    return HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic, speed)


@asynccontextmanager
async def running(truth: Truth = TRUTH, *, speed: float = SPEED, **options):
    """The house on its ports, and a session to talk to it."""
    options = {"announce": False, **options}
    async with (
        running_house(PLAN, truth, clock=fast_clock(speed), **options) as place,
        aiohttp.ClientSession() as session,
    ):
        yield place, session


def at(place, path: str, unit: int = 0) -> str:
    """URL of a path of a unit."""
    return place.units[unit].url.replace("/description", path)


async def until(condition) -> None:
    """Let the house go on until something holds."""
    async with asyncio.timeout(PATIENCE_S):
        while not condition():  # noqa: ASYNC110 - the house's state has no event to wait for
            await asyncio.sleep(0.001)


async def events(session, url: str, count: int) -> list[dict[str, str]]:
    """The first events of a stream, each as its fields."""
    found, fields = [], {}
    headers = {"Accept": "text/event-stream"}
    async with session.get(url, headers=headers) as response:
        assert response.content_type == "text/event-stream"
        async for line in response.content:
            name, _, value = line.decode().rstrip("\n").partition(": ")
            if name:
                fields[name] = value
            else:
                found += [fields] if "data" in fields else []
                fields = {}
            if len(found) == count:
                break
    return found
