"""What stands over the plan: a room or a unit in one line."""

from fleet.model.geometry import Outline
from fleet.model.house import Room
from fleet.model.snapshot import HouseState
from fleet.model.units import Unit
from ui.presenters.words import length_words


def room_line(house: HouseState, room: Room, shown: str) -> str:
    """Say floor, floor area and what is shown: "Ground floor · 26.4 m² · 6 of 16 shown"."""
    floors = {floor.key: floor.name for floor in house.plan.floors}
    return f"{floors[room.floor]} · {area_m2(room.outline_mm):.1f} m² · {shown}"


def unit_line(unit: Unit) -> str:
    """Say module, height, serial and the time of the last reading."""
    line = unit.line
    read = f"read {unit.found.read_at:%d %b %H:%M} UTC" if unit.found else "never read"
    height = length_words(line.pose.height_mm)
    return f"{line.module_type} module · {height} high · {line.serial or 'no serial yet'} · {read}"


def area_m2(outline_mm: Outline) -> float:
    """Return the floor area inside an outline, m² (shoelace formula)."""
    corners = zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in corners)) / 2e6
