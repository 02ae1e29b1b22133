"""What a lap forgets when a unit is swapped in the middle of a visit."""

from fleet.engine.lap_run import LapRun
from fleet.trials.lap import RoomWalk


def test_a_swapped_units_room_is_forgotten_and_its_part_of_the_others():
    lap = LapRun(None, None, None, None, None)
    for room in ("hall", "den"):
        lap._walks[room] = RoomWalk(room, (), {"S-1": None, "S-2": None})
        lap._walked_at[room] = "2026-11-25T12:00:00Z"
    lap.forget("den", "S-1")
    assert lap._walked_at.keys() == {"hall"}
    assert lap._walks == {"hall": RoomWalk("hall", (), {"S-2": None})}
