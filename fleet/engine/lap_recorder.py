"""Running a lap: prompts for the person who walks, and a record of what every unit reports meanwhile."""

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np

from fleet.model.clock import Clock
from fleet.model.house import Room
from fleet.model.reports import Report
from fleet.trials.lap import ROOM_S, RoomWalk, Stand, UnitWindow, lap_route

PROMPT_EVERY_S = 0.5


@dataclass(slots=True)
class _Heard:
    """What one unit has reported so far, as plain lists; times are s since the minute began."""

    report_s: list[float] = field(default_factory=list)
    seen: list[bool] = field(default_factory=list)
    point_s: list[float] = field(default_factory=list)
    points_mm: list[tuple[int, int]] = field(default_factory=list)


class RoomRecorder:
    """Writes down every unit's reports from its making on, until `walk` takes them away."""

    def __init__(self, room: Room, serials: Iterable[str], began_s: float) -> None:
        """Begin at house time `began_s`."""
        self.room = room
        self.stands = lap_route(room.outline_mm)
        self._began_s = began_s
        self._heard = {serial: _Heard() for serial in serials}

    def take(self, serial: str, received_s: float, report: Report) -> None:
        """Write one report down."""
        heard = self._heard.get(serial)
        if heard is None:
            return
        at_s = received_s - self._began_s
        heard.report_s.append(at_s)
        heard.seen.append(bool(report.targets))
        for target in report.targets:
            if target.x_mm is not None and target.y_mm is not None:
                heard.point_s.append(at_s)
                heard.points_mm.append((target.x_mm, target.y_mm))

    def walk(self) -> RoomWalk:
        """Return what was recorded."""
        windows = {serial: _window(heard) for serial, heard in self._heard.items()}
        return RoomWalk(self.room.key, self.stands, windows)


def _window(heard: _Heard) -> UnitWindow:
    return UnitWindow(
        np.array(heard.report_s, dtype=np.float64),
        np.array(heard.seen, dtype=np.bool_),
        np.array(heard.point_s, dtype=np.float64),
        np.array(heard.points_mm, dtype=np.float64).reshape(-1, 2),
    )


async def prompt_through(
    recorder: RoomRecorder,
    clock: Clock,
    began_s: float,
    say: Callable[[str, float], None],
) -> None:
    """Prompt the person through a room's minute.

    Args:
        recorder: knows the stands.
        clock: the house's clock.
        began_s: house time at which the minute began.
        say: takes the prompt and how much of the minute is over, 0 to 1.
    """
    while (at_s := clock.monotonic_s() - began_s) < ROOM_S:
        say(prompt_at(recorder.stands, at_s), at_s / ROOM_S)
        await asyncio.sleep(min(PROMPT_EVERY_S, ROOM_S - at_s) / clock.speed)


def prompt_at(stands: tuple[Stand, ...], at_s: float) -> str:
    """Return what the person is asked to do at a time of the room's minute, s."""
    for number, stand in enumerate(stands, 1):
        if at_s < stand.from_s:
            return f"Walk to mark {number} of {len(stands)}"
        if at_s < stand.until_s:
            return f"Stand still on mark {number} of {len(stands)}"
    return "Stay where you are until the minute is over"
