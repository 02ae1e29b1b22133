from datetime import UTC, datetime

import pytest

from fleet.model.errors import PlanError
from fleet.model.geometry import Pose, Segment
from fleet.model.house import ModuleType, RoomKind
from fleet.model.plans import complaints_about, plan_from
from fleet.model.sheets import Area, AreaKind


def unit(**changes):
    plain = {
        "label": "U01",
        "serial": "S-0001",
        "room": "study",
        "module_type": "tracking",
        "hardware_revision": "B",
        "pose": {"x_mm": 0, "y_mm": 1500, "heading_mdeg": 0, "upside_down": True},
        "settings": {"hold_time_s": 30, "indicator_light": False},
        "areas": [
            {
                "key": "1",
                "label": "desk",
                "kind": "watch",
                "outline_mm": [[0, 0], [900, 0], [0, 900]],
            }
        ],
    }
    return plain | changes


def document(**changes):
    """Return a plan of one room in which everything holds together, with members changed."""
    plain = {
        "site": {"name": "Reed Cottage", "demo": True},
        "floors": [{"key": "ground", "name": "Ground floor", "level": 0}],
        "rooms": [
            {
                "key": "study",
                "name": "Study",
                "floor": "ground",
                "kind": "office",
                "outline_mm": [[0, 0], [3000, 0], [3000, 3000], [0, 3000]],
                "doors": [{"start_mm": [1000, 0], "end_mm": [1800, 0]}],
            }
        ],
        "units": [unit()],
        "visits": [
            {
                "left_at": "2026-03-01T09:30:00Z",
                "by": "an installer",
                "as_left": {"U01": {"setting.hold_time_s": 30}},
                "rooms": [{"room": "study", "shown": ["seated"]}],
                "soaks": [{"unit": "U01", "empty_s": 3600, "episodes": 0}],
            }
        ],
    }
    return plain | changes


def room(**changes):
    return document()["rooms"][0] | changes


def visit(**changes):
    return document()["visits"][0] | changes


def test_a_plan_is_read_into_values():
    plan = plan_from(document(), subject="plan.json")
    assert plan.rooms[0].kind is RoomKind.OFFICE
    assert plan.rooms[0].doors == (Segment((1000, 0), (1800, 0)),)
    (planned,) = plan.units
    assert planned.module_type is ModuleType.TRACKING
    assert planned.pose == Pose(0, 1500, 0, upside_down=True)
    assert planned.settings == {"hold_time_s": 30, "indicator_light": False}
    assert planned.areas == (Area("1", "desk", AreaKind.WATCH, ((0, 0), (900, 0), (0, 900))),)
    assert plan.visits[0].left_at == datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    assert list(complaints_about(plan)) == []


def test_a_plan_needs_no_units_and_no_visits():
    plan = plan_from(document(units=[], visits=[]), subject="plan.json")
    assert (plan.units, plan.visits) == ((), ())


def test_units_without_a_serial_are_not_twice_the_same():
    units = [unit(serial=""), unit(label="U02", serial="")]
    assert len(plan_from(document(units=units), subject="plan.json").units) == 2


@pytest.mark.parametrize(
    ("changes", "complaint"),
    [
        ({"format": "other/1"}, "its format is 'other/1'"),
        ({"floors": document()["floors"] * 2}, "floor 'ground' stands 2 times"),
        ({"rooms": [room(), room()]}, "room 'study' stands 2 times"),
        ({"units": [unit(), unit(serial="S-0002")]}, "unit label 'U01' stands 2 times"),
        ({"units": [unit(), unit(label="U02")]}, "serial 'S-0001' stands 2 times"),
        ({"rooms": [room(floor="roof")]}, "on floor 'roof', which is not there"),
        ({"rooms": [room(outline_mm=[[0, 0], [1, 1]])]}, "fewer than three corners"),
        ({"units": [unit(room="attic")], "visits": []}, "in room 'attic', which is not there"),
        ({"visits": [visit(as_left={"U09": {}})]}, "speaks of unit 'U09'"),
        (
            {"visits": [visit(soaks=[{"unit": "U08", "empty_s": 1, "episodes": 0}])]},
            "speaks of unit 'U08'",
        ),
        ({"visits": [visit(rooms=[{"room": "attic", "shown": []}])]}, "speaks of room 'attic'"),
        ({"rooms": [room(kind="cave")]}, "Invalid enum value 'cave'"),
        ({"site": {}}, "missing required field `name`"),
        ({"units": [unit(pose={"x_mm": 0.5, "y_mm": 0, "heading_mdeg": 0})]}, "Expected `int`"),
    ],
)
def test_a_plan_that_does_not_hold_together_is_refused_in_words(changes, complaint):
    with pytest.raises(PlanError) as refusal:
        plan_from(document(**changes), subject="plan.json")
    assert complaint in refusal.value.what
    assert str(refusal.value).startswith("plan.json: the plan can't be used")
    assert str(refusal.value).endswith("Mend the file and add it again.")


def test_every_complaint_is_said():
    plan = plan_from(document(), subject="plan.json")
    broken = plan.__class__(plan.site, (), plan.rooms, plan.units * 2, visits=plan.visits)
    assert len(list(complaints_about(broken))) == 3
