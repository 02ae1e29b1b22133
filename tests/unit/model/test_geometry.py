import dataclasses

import pytest

from fleet.model.geometry import Pose, Segment

POSE = Pose(100, 200, 90_000, height_mm=2_300)


def test_a_mirrored_pose_differs_in_which_side_is_up_alone():
    assert POSE.mirrored() == Pose(100, 200, 90_000, upside_down=True, height_mm=2_300)


def test_mirrored_twice_is_the_same_pose():
    assert POSE.mirrored().mirrored() == POSE


@pytest.mark.parametrize("value", [POSE, Segment((0, 0), (1, 1))])
def test_values_are_frozen(value):
    name = dataclasses.fields(value)[0].name
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(value, name, 1)
