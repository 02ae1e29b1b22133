"""The identify sweep: units show themselves one after another while a person walks along with them."""

import asyncio
import re
from collections.abc import Awaitable, Callable, Collection, Container, Sequence

from fleet.inventory.inventory import Inventory
from fleet.model.clock import Clock
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.house import HousePlan, PlannedUnit

SEEN_WHERE_PLANNED, SEEN_ELSEWHERE = "seen-where-planned", "seen-elsewhere"
"""Words of the journal's rows by which a person says where a unit that showed itself was seen."""

LOOK_EVERY_S = 0.1
"""Wall seconds between two looks at whether somebody asked to stop."""


def in_plan_order(plan: HousePlan) -> tuple[PlannedUnit, ...]:
    """Return the schedule as somebody would walk it: floors from below, their rooms, then labels.

    Rooms come as in the plan; a unit of no known room comes last. Numbers in labels count as numbers.
    """
    levels = {floor.key: floor.level for floor in plan.floors}
    rooms = sorted(plan.rooms, key=lambda room: levels.get(room.floor, len(levels)))
    places = {room.key: place for place, room in enumerate(rooms)}
    return tuple(
        sorted(
            plan.units,
            key=lambda line: (places.get(line.room, len(places)), _in_numbers(line.label)),
        )
    )


def turns_of(plan: HousePlan, met: Container[str], labels: Collection[str] = ()) -> dict[str, str]:
    """Return whose turn it is in a sweep, in plan order: serial → label and room in words.

    Args:
        plan: the house.
        met: serials of units that were met.
        labels: which; () for all.
    """
    rooms = {room.key: room.name for room in plan.rooms}
    return {
        line.serial: f"{line.label}, {rooms.get(line.room, line.room)}"
        for line in in_plan_order(plan)
        if line.serial in met and (not labels or line.label in labels)
    }


def say_seen(
    inventory: Inventory, plan: HousePlan, serial: str, *, where_planned: bool, by: str
) -> None:
    """Write down what a person saw of a unit that showed itself; the last word on a unit counts.

    Args:
        inventory: with the journal.
        plan: the house; the row names label and room that the unit is planned for.
        serial: of the unit.
        where_planned: whether it was seen where the plan says.
        by: who saw it.

    Raises:
        PlanError: nobody is named.
        InventoryError: the journal can't be written.
    """
    if not by.strip():
        raise PlanError(
            "who saw it has to be said.", subject=serial, stands="Nothing was written down."
        )
    line = next((one for one in plan.units if one.serial == serial), None)
    detail = {
        "label": line.label if line else "",
        "room": line.room if line else "",
        "by": by.strip(),
    }
    inventory.append(SEEN_WHERE_PLANNED if where_planned else SEEN_ELSEWHERE, serial, detail)


async def sweep(
    serials_in_order: Sequence[str],
    identify: Callable[[str, int], Awaitable[None]],
    say: Callable[[str | None], None],
    clock: Clock,
    seconds_each: int,
    stop_asked: Callable[[], bool],
    tone: Callable[[], None] = lambda: None,
) -> dict[str, str]:
    """Have units show themselves, one after another; go on past one that can't.

    Args:
        serials_in_order: whose turn it is, and when.
        identify: has one unit show itself for some house seconds; returns when it has begun.
        say: told whose turn begins, before it is asked to; None at the end, however that comes.
        clock: the house's clock.
        seconds_each: house seconds that a unit shows itself.
        stop_asked: whether somebody wants it to end; looked at several times a second.
        tone: called as each turn begins, for a person who looks at the wall, not at the screen.

    Returns:
        Serial → what went wrong, in words, of each that couldn't.
    """
    troubles: dict[str, str] = {}
    try:
        for serial in serials_in_order:
            if stop_asked():
                break
            say(serial)
            tone()
            began_s = clock.monotonic_s()
            try:
                await identify(serial, seconds_each)
            except WalkdownError as reason:
                troubles[serial] = str(reason)
                continue
            await _until(began_s + seconds_each, clock, stop_asked)
    finally:
        say(None)
    return troubles


async def _until(end_s: float, clock: Clock, stop_asked: Callable[[], bool]) -> None:
    """Wait until a house time (monotonic, s), or until somebody asks to stop."""
    while (left_s := end_s - clock.monotonic_s()) > 0:
        if stop_asked():
            return
        await asyncio.sleep(min(LOOK_EVERY_S, left_s / clock.speed))


def _in_numbers(label: str) -> tuple[tuple[int, str], ...]:
    """Return what sorts U2 before U10: each run of digits as a number, the rest as text."""
    return tuple(
        (int(part), "") if part.isascii() and part.isdecimal() else (-1, part)
        for part in re.split(r"([0-9]{1,18})", label)
    )
